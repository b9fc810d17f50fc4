// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/robust/peer_scores.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <sstream>

namespace mk::stats {

namespace {

/// The numbers of a cell such as "x 5.8, assigned 5.5, sigma_pt 0.25".
std::vector<double> peerInputs(std::string text)
{
    std::vector<double> numbers;
    std::istringstream parts(text);
    for (std::string part; std::getline(parts, part, ',');)
        numbers.push_back(std::stod(part.substr(part.rfind(' ') + 1)));
    return numbers;
}

double peerScore(const std::string& quantity, const std::vector<double>& in)
{
    if (quantity == "SDI")
        return standardDeviationIndex(in.at(0), in.at(1), in.at(2)).value();
    if (quantity == "CVI (CVR)")
        return coefficientOfVariationIndex(in.at(0), in.at(1)).value();
    if (quantity == "z")
        return zScore(in.at(0), in.at(1), in.at(2)).value();
    if (quantity == "z'")
        return zPrimeScore(in.at(0), in.at(1), in.at(2), in.at(3)).value();
    if (quantity == "zeta")
        return zetaScore(in.at(0), in.at(1), in.at(2), in.at(3)).value();
    if (quantity == "En")
        return enScore(in.at(0), in.at(1), in.at(2), in.at(3)).value();
    EXPECT_EQ(quantity, "percent difference");
    return percentDifference(in.at(0), in.at(1)).value();
}

double crmNumber(const reference::ReferenceTable& table, const std::string& item, const char* column)
{
    for (std::size_t row = 0; row < table.size(); ++row) {
        if (table.text(row, "item") == item)
            return table.number(row, column);
    }
    ADD_FAILURE() << item;
    return 0;
}

} // namespace

TEST(PeerScores, MeetEveryAnalyticFigure)
{
    const reference::ReferenceTable table("statistics/peer_scores_analytic.csv");
    ASSERT_EQ(table.size(), 9U);
    for (std::size_t row = 0; row < table.size(); ++row)
        EXPECT_NEAR(peerScore(table.text(row, "quantity"), peerInputs(table.text(row, "inputs"))), table.number(row, "value"), 5.1e-7)
            << table.text(row, "inputs");
}

TEST(PeerScores, AreNothingWithoutASpread)
{
    EXPECT_FALSE(zScore(5, 4, 0));
    EXPECT_FALSE(zScore(5, 4, -1));
    EXPECT_FALSE(zScore(5, std::nan(""), 1));
    EXPECT_FALSE(zPrimeScore(5, 4, 0, 0));
    EXPECT_EQ(zPrimeScore(5, 4, 0, 0.5), 2);
    EXPECT_FALSE(zetaScore(5, 4, 0, 0));
    EXPECT_FALSE(enScore(5, 4, INFINITY, 1));
    EXPECT_FALSE(standardDeviationIndex(5, 4, std::nan("")));
    EXPECT_FALSE(coefficientOfVariationIndex(3, 0));
    EXPECT_FALSE(percentDifference(3, 0));
}

TEST(CertifiedBias, MeetsThePublishedMaterial)
{
    // Clin. Biochem. Rev. 2008;29 (suppl. 1):S53, appendix 2; the paper rounds on the way, so the full-precision column counts.
    const reference::ReferenceTable table("statistics/glucose_crm_bias_uncertainty.csv");
    const std::vector<double> values = { 6.9, 7.0, 6.9, 6.8, 7.2, 7.1, 6.9, 6.8, 7.2, 6.9 };
    ASSERT_EQ(table.text(0, "published"), "6.9 7.0 6.9 6.8 7.2 7.1 6.9 6.8 7.2 6.9");
    const double uCertified = crmNumber(table, "crm_U_k2", "published") / 2;
    const CertifiedBias bias = certifiedBias(values, crmNumber(table, "crm_value", "published"), uCertified).value();
    const auto computed = [&](const char* item) { return crmNumber(table, item, "calc_full_precision"); };
    EXPECT_NEAR(uCertified, computed("u_crm"), 1e-12);
    EXPECT_NEAR(bias.mean, computed("mean"), 5.1e-7);
    EXPECT_NEAR(bias.sd, computed("sd"), 5.1e-7);
    EXPECT_NEAR(bias.meanError, computed("sem"), 5.1e-7);
    EXPECT_NEAR(bias.bias, computed("bias"), 5.1e-7);
    EXPECT_NEAR(bias.uBias, computed("u_bias"), 5.1e-7);
    EXPECT_NEAR(bias.t.value(), computed("t_bias_over_ubias"), 5.1e-7);
    EXPECT_EQ(static_cast<double>(bias.df), crmNumber(table, "df", "published"));
    EXPECT_NEAR(bias.pValue.value(), computed("p_two_sided"), 5.1e-7);
    const double uImprecision = crmNumber(table, "u_imp", "published");
    EXPECT_NEAR(bias.uBias / uImprecision, computed("u_bias_over_u_imp"), 5.1e-7);
    EXPECT_NEAR(std::hypot(uImprecision, bias.uBias), computed("u_proc"), 5.1e-7);
}

TEST(CertifiedBias, SaysWhatIsWrong)
{
    EXPECT_FALSE(certifiedBias(std::vector<double> { 5 }, 5, 0.1));
    EXPECT_FALSE(certifiedBias(std::vector<double> { 5, 6 }, 5, -0.1));
    EXPECT_FALSE(certifiedBias(std::vector<double> { 5, 6 }, std::nan(""), 0.1));
    EXPECT_FALSE(certifiedBias(std::vector<double> { 5, std::nan("") }, 5, 0.1));
    EXPECT_FALSE(certifiedBias(std::vector<double> { 5, 5 }, 5, 0)->t);
}

} // namespace mk::stats
