// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/sigma.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

TEST(SigmaMetric, MeetsTheHospitalTable)
{
    // Biochem Med (Zagreb) 2018;28:020711, table 2, recomputed from its inputs to four decimals.
    const reference::ReferenceTable table("statistics/sigma_metrics_hospital_table.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto metric = sigmaMetric(table.number(row, "tea_pct"), table.number(row, "bias_pct"), table.number(row, "cv_pct"));
        ASSERT_TRUE(metric);
        EXPECT_NEAR(metric->sigma, table.number(row, "calc_sigma"), 6e-5) << row;
        EXPECT_NEAR(metric->criticalShift, table.number(row, "calc_dSEcrit"), 6e-5) << row;
        EXPECT_NEAR(metric->criticalRandom, table.number(row, "calc_sigma") / 1.96, 6e-5) << row;
        if (table.text(row, "agrees_to_1_decimal") == "yes") {
            EXPECT_NEAR(metric->sigma, table.number(row, "pub_sigma"), 0.051) << row;
        }
    }
}

TEST(SigmaMetric, ReadsABiasOfEitherSign)
{
    EXPECT_EQ(sigmaMetric(15, -3, 4).value().sigma, 3);
    EXPECT_EQ(sigmaMetric(15, 3, 4).value().sigma, 3);
    EXPECT_EQ(sigmaMetric(15, 0, 4).value().sigma, 3.75);
}

TEST(SigmaMetric, GoesBelowNoughtWhereTheBiasUsesUpWhatIsAllowed)
{
    EXPECT_EQ(sigmaMetric(10, 10, 2).value().sigma, 0);
    EXPECT_EQ(sigmaMetric(10, 14, 2).value().sigma, -2);
    EXPECT_NEAR(sigmaMetric(10, 14, 2).value().criticalShift, -3.65, 1e-12);
}

TEST(SigmaMetric, RefusesWhatMeansNothing)
{
    EXPECT_EQ(sigmaMetric(10, 0, 0).error().text, "the CV must be a number above 0; without spread between the results there is no sigma");
    EXPECT_FALSE(sigmaMetric(10, 0, -2));
    EXPECT_EQ(sigmaMetric(0, 0, 2).error().text, "the allowable error must be a number above 0");
    EXPECT_FALSE(sigmaMetric(std::nan(""), 0, 2));
    EXPECT_EQ(sigmaMetric(10, INFINITY, 2).error().text, "the bias must be a number");
    EXPECT_FALSE(sigmaMetric(1e300, 0, 1e-300));
}

TEST(RulesForSigma, FollowTheScheme)
{
    // statistics/qc_design_by_sigma.csv, "Control rules by sigma" (from memory there).
    const reference::ReferenceTable table("statistics/qc_design_by_sigma.csv");
    const auto text = [](const RuleChoice& choice) {
        std::string all;
        for (const Rule rule : choice.rules)
            all += (all.empty() ? "" : "/") + std::string(name(rule));
        return all;
    };
    std::size_t checked = 0;
    for (std::size_t row = 0; row < table.size(); ++row) {
        if (table.text(row, "scheme").find("Control rules by sigma") == std::string::npos)
            continue;
        const std::size_t levels = table.text(row, "scheme").find("3 levels") == std::string::npos ? 2 : 3;
        const std::string& bound = table.text(row, "sigma");
        const double sigma = bound[0] == '<' ? std::stod(bound.substr(1)) - 1e-9 : std::stod(bound.substr(2));
        const RuleChoice choice = rulesForSigma(sigma, levels);
        EXPECT_EQ(text(choice), table.text(row, "rules")) << row;
        EXPECT_EQ(choice.levels, levels);
        const std::string& frequency = table.text(row, "materials_and_frequency");
        EXPECT_NE(frequency.find("N=" + std::to_string(choice.levels) + " R=" + std::to_string(choice.sets)), std::string::npos)
            << frequency;
        ++checked;
    }
    EXPECT_EQ(checked, 8U);
    EXPECT_EQ(rulesForSigma(-3, 2).rules.size(), 5U);
}

TEST(ChanceBeyondAllowable, MeetsTheTable)
{
    // Analytic: statistics/unacceptable_result_probability_analytic.csv, eight decimals.
    const reference::ReferenceTable table("statistics/unacceptable_result_probability_analytic.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double a = table.number(row, "TEa_in_SD_bias_0");
        const double shift = table.number(row, "shift_in_SD");
        EXPECT_NEAR(chanceBeyondAllowable(a, shift), table.number(row, "p_error_beyond_TEa"), 6e-9) << row;
        EXPECT_NEAR(chanceBeyondAllowable(a, shift) - chanceBeyondAllowable(a, 0), table.number(row, "increase_over_no_shift"), 6e-9)
            << row;
        EXPECT_EQ(chanceBeyondAllowable(a, shift), chanceBeyondAllowable(a, -shift));
    }
}

TEST(DefectsPerMillion, MeetTheTable)
{
    // Analytic: statistics/sigma_defect_rates_analytic.csv; 3.4 at 6 sigma is one tail with the shift of 1.5 SD.
    const reference::ReferenceTable table("statistics/sigma_defect_rates_analytic.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double sigma = table.number(row, "sigma");
        EXPECT_NEAR(1e6 * chanceBeyondAllowable(sigma, 0), table.number(row, "dpmo_no_shift_two_sided"), 6e-5) << sigma;
        EXPECT_NEAR(defectsPerMillion(sigma, 1.5), table.number(row, "dpmo_shift_1.5_one_tail"), 6e-3) << sigma;
        EXPECT_NEAR(1e6 * chanceBeyondAllowable(sigma, 1.5), table.number(row, "dpmo_shift_1.5_both_tails"), 6e-3) << sigma;
    }
}

// 1e308 % of error at a CV of 1e-5 %: each in SD is infinite, and their difference no number.
TEST(SigmaMetric, RefusesErrorsThatAreInfinitelyManySd)
{
    EXPECT_FALSE(sigmaMetric(1e308, 1e308, 1e-5));
    EXPECT_FALSE(sigmaMetric(1e308, -1e308, 1e-5));
    EXPECT_TRUE(sigmaMetric(1e300, 1e300, 1e-5));
}

} // namespace mk::stats
