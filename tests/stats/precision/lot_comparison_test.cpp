// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/lot_comparison.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

namespace mk::stats {

namespace {

LotComparison lotsOfFile(const std::string& dataset, const LotOptions& options = {})
{
    const reference::ReferenceTable table("accuracy/" + dataset + ".csv");
    return compareLots(table.numbers("current_lot_mg_dL"), table.numbers("new_lot_mg_dL"), options).value();
}

std::map<std::string, double> lotFigures(const LotComparison& lots)
{
    return { { "n", static_cast<double>(lots.n) }, { "mean_difference_new_minus_current", lots.meanDifference },
        { "sd_difference", lots.sdDifference.value() }, { "ci95_low", lots.meanCi->lower }, { "ci95_high", lots.meanCi->upper },
        { "mean_percent_difference", lots.meanPercent.value() }, { "sd_percent_difference", lots.sdPercent.value() },
        { "max_abs_percent_difference", lots.largestPercent.value() }, { "percent_difference_of_means", lots.percentOfMeans.value() },
        { "paired_t", lots.t.value() }, { "paired_p_two_sided", lots.pValue.value() } };
}

std::string lotFault(const std::vector<double>& current, const std::vector<double>& candidate, const LotOptions& options = {})
{
    const auto lots = compareLots(current, candidate, options);
    return lots ? std::string() : lots.error().text;
}

} // namespace

TEST(CompareLots, MeetsEveryReferenceFigure)
{
    const reference::ReferenceTable expected("accuracy/lot_expected.csv");
    ASSERT_EQ(expected.size(), 22U);
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const std::string parameter = expected.text(row, "parameter");
        EXPECT_NEAR(lotFigures(lotsOfFile(expected.text(row, "dataset"))).at(parameter), expected.number(row, "expected"),
            expected.number(row, "tolerance"))
            << parameter;
    }
}

TEST(CompareLots, JudgesEverySampleUnlessAskedForTheMean)
{
    // Largest differences 4.12 and 12.68 %, means 2.02 and 11.12 % (lot_expected.csv).
    const auto met = [](const char* dataset, double percent, LotJudgement judgement) {
        return lotsOfFile(dataset, { { percent, std::nullopt }, judgement, 0.95 }).met.value();
    };
    EXPECT_TRUE(met("lot_example_small_shift", 5, LotJudgement::EachSample));
    EXPECT_FALSE(met("lot_example_small_shift", 4, LotJudgement::EachSample));
    EXPECT_TRUE(met("lot_example_small_shift", 4, LotJudgement::Mean));
    EXPECT_TRUE(met("lot_example_large_shift", 15, LotJudgement::EachSample)); // GB/T 19634-2005: 15 %
    EXPECT_FALSE(met("lot_example_large_shift", 12, LotJudgement::EachSample));
    EXPECT_TRUE(met("lot_example_large_shift", 12, LotJudgement::Mean));
    EXPECT_FALSE(met("lot_example_large_shift", 11, LotJudgement::Mean));
    const LotComparison beyond = lotsOfFile("lot_example_small_shift", { { 4, std::nullopt }, LotJudgement::EachSample, 0.95 });
    EXPECT_EQ(beyond.beyond, (std::vector<std::size_t> { 4 })); // 97 and 101
    EXPECT_FALSE(lotsOfFile("lot_example_small_shift").met);
}

TEST(CompareLots, DoesNotLetOppositeDifferencesCancel)
{
    const std::vector<double> current = { 50, 400 };
    const std::vector<double> candidate = { 70, 380 };
    EXPECT_EQ(compareLots(current, candidate, { { std::nullopt, 5.0 }, LotJudgement::EachSample, 0.95 })->met, false);
    EXPECT_EQ(compareLots(current, candidate, { { std::nullopt, 5.0 }, LotJudgement::Mean, 0.95 })->met, true);
}

TEST(CompareLots, JudgesTheMeanDifferenceAgainstTheMeanOfTheCurrentLot)
{
    // Analytic: the mean difference is -5, which is 1.8 % of 275; the mean of +20 % and -4 % is 8 %.
    const std::vector<double> current = { 50, 500 };
    const std::vector<double> candidate = { 60, 480 };
    const auto judged = [&](const Allowance& allowance) {
        return compareLots(current, candidate, { allowance, LotJudgement::Mean, 0.95 }).value();
    };
    EXPECT_EQ(judged({ 5, std::nullopt }).met, true);
    EXPECT_DOUBLE_EQ(judged({ 5, std::nullopt }).allowedMean.value(), 13.75);
    EXPECT_EQ(judged({ 1, std::nullopt }).met, false);
    EXPECT_EQ(judged({ 1, 5.0 }).met, true); // the larger counts, on the limit is within
    EXPECT_EQ(judged({ 1, 4.0 }).met, false);
    EXPECT_FALSE(judged({}).met || judged({}).allowedMean);
    EXPECT_EQ(lotFault({ -5, 5 }, { 1, 2 }, { { 5, std::nullopt }, LotJudgement::Mean, 0.95 }),
        "the results of the current lot have the mean 0, of which a percentage allows nothing; allow an absolute difference as well");
}

TEST(CompareLots, AllowsTheLargerOfBothLimits)
{
    const std::vector<double> current = { 60, 200 };
    const std::vector<double> candidate = { 72, 230 };
    const auto beyond = [&](const Allowance& allowance) {
        return compareLots(current, candidate, { allowance, LotJudgement::EachSample, 0.95 })->beyond;
    };
    EXPECT_EQ(beyond({ 15, 12.0 }), (std::vector<std::size_t> {})); // both exactly on their limit
    EXPECT_EQ(beyond({ 15, std::nullopt }), (std::vector<std::size_t> { 1 }));
    EXPECT_EQ(beyond({ std::nullopt, 12.0 }), (std::vector<std::size_t> { 2 }));
}

TEST(CompareLots, TurnsItsSignWhenTheLotsAreSwapped)
{
    const std::vector<double> a = { 52, 68, 84, 97 };
    const std::vector<double> b = { 57, 76, 83, 109 };
    const LotComparison one = compareLots(a, b, {}).value();
    const LotComparison other = compareLots(b, a, {}).value();
    EXPECT_DOUBLE_EQ(one.meanDifference, -other.meanDifference);
    EXPECT_DOUBLE_EQ(one.meanCi->lower, -other.meanCi->upper);
    EXPECT_DOUBLE_EQ(one.pValue.value(), other.pValue.value());
}

TEST(CompareLots, HasNoSpreadBelowTwoSamplesAndNoTestOfEqualDifferences)
{
    const LotComparison one = compareLots(std::vector<double> { 100 }, std::vector<double> { 104 }, {}).value();
    EXPECT_EQ(one.meanDifference, 4);
    EXPECT_EQ(one.meanPercent, 4);
    EXPECT_FALSE(one.sdDifference || one.meanCi || one.t || one.sdPercent);
    const LotComparison equal = compareLots(std::vector<double> { 100, 200 }, std::vector<double> { 104, 204 }, {}).value();
    EXPECT_FALSE(equal.t || equal.pValue);
    EXPECT_EQ(equal.meanCi->lower, 4);
    const LotComparison zero = compareLots(std::vector<double> { 0, 200 }, std::vector<double> { 4, 204 }, {}).value();
    EXPECT_FALSE(zero.meanPercent || zero.largestPercent);
    EXPECT_EQ(zero.percentOfMeans, 4);
}

TEST(CompareLots, SaysWhatIsWrong)
{
    EXPECT_EQ(lotFault({}, {}), "there is no result of the current lot; give at least one");
    EXPECT_EQ(lotFault({ 1, 2 }, { 1 }), "the two lots differ in their number of results; give both results of every sample");
    EXPECT_EQ(lotFault({ 1, 2 }, { 1, std::nan("") }), "result of the candidate lot 2 is not a finite number; correct it or leave it out");
    EXPECT_EQ(lotFault({ 5, 0 }, { 1, 2 }, { { 5, std::nullopt }, LotJudgement::EachSample, 0.95 }),
        "result 2 of the current lot is 0, of which a percentage allows nothing; allow an absolute difference as well");
    EXPECT_EQ(lotFault({ 1e308, 1 }, { -1e308, 2 }), "the values are too far apart to compute with; look for a slip in them");
    EXPECT_NE(lotFault({ 1 }, { 2 }, { { -1, std::nullopt }, LotJudgement::EachSample, 0.95 }), "");
    EXPECT_NE(lotFault({ 1 }, { 2 }, { {}, LotJudgement::EachSample, 1 }), "");
}

} // namespace mk::stats
