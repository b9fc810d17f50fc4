// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/anova.h"

#include "stats/basics/summary.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

/// Correct significant digits, 15 where all are.
double nistDigits(double computed, double certified)
{
    if (computed == certified)
        return 15;
    return std::min(15.0, -std::log10(std::abs(computed - certified) / std::abs(certified)));
}

struct NistAnovaData {
    std::vector<std::size_t> group;
    std::vector<double> value;
};

NistAnovaData nistAnovaData(const std::string& name)
{
    const reference::ReferenceTable table("accuracy/" + name + ".csv");
    NistAnovaData data { {}, table.numbers("response") };
    for (const double treatment : table.numbers("treatment"))
        data.group.push_back(static_cast<std::size_t>(treatment) - 1);
    return data;
}

double anovaFigure(const Anova& anova, const std::string& parameter)
{
    const std::map<std::string, double> figures = { { "df_between", static_cast<double>(anova.between.df) },
        { "SS_between", anova.between.ss }, { "MS_between", anova.between.ms }, { "F", anova.f.value() },
        { "df_within", static_cast<double>(anova.within.df) }, { "SS_within", anova.within.ss }, { "MS_within", anova.within.ms },
        { "R_squared", anova.rSquared.value() }, { "residual_sd", anova.residualSd } };
    return figures.at(parameter);
}

/// Digits that doubles can reach, the data themselves being rounded when stored (reference README, 5).
double attainableAnovaDigits(const std::string& dataset)
{
    const std::map<std::string, double> digits = { { "nist_anova_SiRstv", 12.9 }, { "nist_anova_SmLs01", 13.9 },
        { "nist_anova_AtmWtAg", 10 }, { "nist_anova_SmLs04", 10 }, { "nist_anova_SmLs07", 4 } };
    return digits.at(dataset);
}

/// The values less the first, as the decimals that were certified: `perUnit` is 10 to the decimals of the file.
std::vector<double> decimalOffsets(const std::vector<double>& values, double perUnit)
{
    std::vector<double> offsets;
    for (const double value : values)
        offsets.push_back(std::round((value - values.front()) * perUnit) / perUnit);
    return offsets;
}

std::string anovaFault(const std::vector<std::size_t>& group, const std::vector<double>& value)
{
    const auto anova = oneWayAnova(group, value);
    return anova ? std::string() : anova.error().text;
}

} // namespace

TEST(OneWayAnova, MeetsEveryCertifiedFigure)
{
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    std::size_t rows = 0;
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "problem") != "NIST StRD one-way ANOVA")
            continue;
        const std::string dataset = expected.text(row, "dataset");
        const std::string parameter = expected.text(row, "parameter");
        const NistAnovaData data = nistAnovaData(dataset);
        const Anova anova = oneWayAnova(data.group, data.value).value();
        EXPECT_GE(nistDigits(anovaFigure(anova, parameter), expected.number(row, "certified")), attainableAnovaDigits(dataset))
            << dataset << ' ' << parameter;
        ++rows;
    }
    EXPECT_EQ(rows, 45U);
}

TEST(OneWayAnova, KeepsAllDigitsOfDecimalsGivenAsDistances)
{
    // The same certified figures; what the doubles of the data lose is not lost when the decimals are subtracted first.
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    const std::map<std::string, double> perUnit = { { "nist_anova_SiRstv", 1e4 }, { "nist_anova_SmLs01", 10 },
        { "nist_anova_AtmWtAg", 1e7 }, { "nist_anova_SmLs04", 10 }, { "nist_anova_SmLs07", 10 } };
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "problem") != "NIST StRD one-way ANOVA")
            continue;
        const std::string dataset = expected.text(row, "dataset");
        const NistAnovaData data = nistAnovaData(dataset);
        const auto offsets = decimalOffsets(data.value, perUnit.at(dataset));
        const Anova anova = oneWayAnova(data.group, offsets, data.value.front()).value();
        const std::string parameter = expected.text(row, "parameter");
        EXPECT_GE(nistDigits(anovaFigure(anova, parameter), expected.number(row, "certified")), 13.5) << dataset << ' ' << parameter;
        const double mean = std::accumulate(data.value.begin(), data.value.end(), 0.0) / static_cast<double>(data.value.size());
        EXPECT_NEAR(anova.mean / mean, 1, 1e-12);
    }
}

TEST(Summarize, MeetsEveryCertifiedUnivariateFigure)
{
    // Lag-1 autocorrelations are certified too; the program computes none.
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    const std::map<std::string, double> sdDigits = { { "nist_univariate_NumAcc3", 9.4 }, { "nist_univariate_NumAcc4", 8.2 } };
    std::size_t rows = 0;
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const std::string parameter = expected.text(row, "parameter");
        if (expected.text(row, "problem") != "NIST StRD univariate" || parameter == "lag1_autocorrelation")
            continue;
        const std::string dataset = expected.text(row, "dataset");
        const Summary summary = summarize(reference::ReferenceTable("accuracy/" + dataset + ".csv").numbers("y")).value();
        const double certified = expected.number(row, "certified");
        if (parameter == "n")
            EXPECT_EQ(static_cast<double>(summary.n), certified) << dataset;
        else if (parameter == "mean")
            EXPECT_GE(nistDigits(summary.mean, certified), 14.5) << dataset;
        else
            EXPECT_GE(nistDigits(summary.sd.value(), certified), sdDigits.contains(dataset) ? sdDigits.at(dataset) : 13.0) << dataset;
        ++rows;
    }
    EXPECT_EQ(rows, 18U);
}

TEST(OneWayAnova, IsTheTwoSampleTestForTwoGroups)
{
    // Analytic: F of two groups is the square of the pooled t, here (5 - 2) / (sqrt(1) sqrt(2/3)) squared = 13.5.
    const Anova anova = oneWayAnova(std::vector<std::size_t> { 0, 0, 0, 1, 1, 1 }, std::vector<double> { 1, 2, 3, 4, 5, 6 }).value();
    EXPECT_NEAR(anova.f.value(), 13.5, 1e-13);
    EXPECT_EQ(anova.between.df, 1U);
    EXPECT_EQ(anova.within.df, 4U);
    EXPECT_NEAR(anova.pValue.value(), 0.0213116, 5e-7); // t 3.674235 with 4 df, recomputed here from its closed form
    const double t = std::sqrt(13.5);
    const double x = t / std::sqrt(4 + t * t);
    EXPECT_NEAR(anova.pValue.value(), 1 - x * (1 + (1 - x * x) / 2), 1e-12);
    EXPECT_EQ(anova.groups[1].mean, 5);
    EXPECT_EQ(anova.groups[1].n, 3U);
}

TEST(OneWayAnova, DoesNotDependOnOrderLabelsOriginOrUnit)
{
    std::mt19937 random(12);
    std::normal_distribution<double> noise;
    for (int repeat = 0; repeat < 50; ++repeat) {
        std::vector<std::size_t> group;
        std::vector<double> value;
        for (std::size_t i = 0; i < 40; ++i) {
            group.push_back(i < 8 ? i % 4 : random() % 4);
            value.push_back(100 + noise(random) + 0.5 * static_cast<double>(group.back()));
        }
        const Anova plain = oneWayAnova(group, value).value();
        std::vector<std::size_t> order(value.size());
        std::iota(order.begin(), order.end(), 0U);
        std::shuffle(order.begin(), order.end(), random);
        std::vector<std::size_t> relabelled;
        std::vector<double> moved;
        for (const std::size_t at : order) {
            relabelled.push_back(3 - group[at]);
            moved.push_back(-2.5 * value[at] + 7000);
        }
        const Anova other = oneWayAnova(relabelled, moved).value();
        EXPECT_NEAR(other.f.value() / plain.f.value(), 1, 1e-10);
        EXPECT_NEAR(other.residualSd / plain.residualSd, 2.5, 1e-10);
        EXPECT_NEAR(other.rSquared.value(), plain.rSquared.value(), 1e-11);
    }
}

TEST(OneWayAnova, GivesNoRatioWhereNothingVaries)
{
    const Anova apart = oneWayAnova(std::vector<std::size_t> { 0, 0, 1, 1 }, std::vector<double> { 1, 1, 2, 2 }).value();
    EXPECT_FALSE(apart.f || apart.pValue);
    EXPECT_EQ(apart.rSquared.value(), 1);
    const Anova same = oneWayAnova(std::vector<std::size_t> { 0, 0, 1, 1 }, std::vector<double> { 5, 5, 5, 5 }).value();
    EXPECT_FALSE(same.f || same.pValue || same.rSquared);
    EXPECT_EQ(same.residualSd, 0);
}

TEST(OneWayAnova, SaysWhatIsMissing)
{
    EXPECT_EQ(anovaFault({}, {}), "there is no value; give at least one");
    EXPECT_EQ(anovaFault({ 0, 0 }, { 1, 2 }), "there is only one group; give at least two to compare");
    EXPECT_EQ(
        anovaFault({ 0, 1 }, { 1, 2 }), "no group has two values, so nothing tells how far values of one group lie apart; give replicates");
    EXPECT_EQ(anovaFault({ 0 }, { 1, 2 }), "there are 2 values but 1 groups; give each value its group");
    EXPECT_EQ(anovaFault({ 0, 2, 2 }, { 1, 2, 3 }), "a group number has no value; number the groups without gaps");
    EXPECT_EQ(anovaFault({ 0, std::numeric_limits<std::size_t>::max() }, { 1, 2 }),
        "a group number has no value; number the groups without gaps");
    EXPECT_EQ(anovaFault({ 0, 0, 1 }, { 1, std::nan(""), 3 }), "value 2 is not a finite number; correct it or leave it out");
    EXPECT_EQ(anovaFault({ 0, 0, 1 }, { 1e308, -1e308, 0 }), "the values are too far apart to compute with; look for a slip in them");
}

} // namespace mk::stats
