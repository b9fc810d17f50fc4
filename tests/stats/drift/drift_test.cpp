// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace mk::stats {

namespace {

std::vector<double> driftingValues(std::size_t n, double step)
{
    std::mt19937 random(1805);
    std::normal_distribution<double> normal;
    std::vector<double> values;
    for (std::size_t i = 0; i < n; ++i)
        values.push_back(normal(random) + step * static_cast<double>(i));
    return values;
}

std::vector<double> driftScaled(std::vector<double> values, double factor, double offset)
{
    for (double& value : values)
        value = value * factor + offset;
    return values;
}

} // namespace

TEST(EwmaChart, MeetsTheNistExampleWithSteadyLimits)
{
    const reference::ReferenceTable table("statistics/nist_ewma.csv");
    const auto chart = ewmaChart(table.numbers("x"), 50, 2.0539, 0.3, 3, EwmaLimits::Steady);
    ASSERT_EQ(chart.values.size(), table.size());
    for (std::size_t i = 0; i < table.size(); ++i) {
        EXPECT_NEAR(chart.values[i], table.number(i, "printed_ewma"), 0.005001) << i + 1;
        EXPECT_NEAR(chart.values[i], table.number(i, "calc_ewma"), 5.1e-7) << i + 1;
        EXPECT_NEAR(chart.upper[i], 52.5884, 1e-4) << i + 1;
        EXPECT_NEAR(chart.lower[i], 47.4115, 1e-4) << i + 1; // printed so, 47.41157 unrounded
    }
    EXPECT_TRUE(chart.signalled.empty());
}

TEST(EwmaChart, WidensExactLimitsFromTheFirstObservation)
{
    const reference::ReferenceTable table("statistics/nist_ewma.csv");
    const auto chart = ewmaChart(table.numbers("x"), 50, 2.0539, 0.3, 3, EwmaLimits::Exact);
    for (std::size_t i = 0; i < table.size(); ++i) {
        EXPECT_NEAR(chart.upper[i], table.number(i, "calc_ucl_exact_at_i"), 5.1e-5) << i + 1;
        EXPECT_NEAR(chart.lower[i], table.number(i, "calc_lcl_exact_at_i"), 5.1e-5) << i + 1;
    }
    EXPECT_TRUE(chart.signalled.empty());
    // The first exact limit is lambda times width: 50 + 0.3 x 3 x 2.0539.
    EXPECT_NEAR(chart.upper[0], 50 + 0.9 * 2.0539, 1e-12);
}

TEST(EwmaChart, ListsEveryObservationOutsideFromOneOn)
{
    // Analytic: with lambda 1 it is the Shewhart chart of the observations.
    const std::vector<double> values = { 0, 3.5, 3, -3.01, 0 };
    EXPECT_EQ(ewmaChart(values, 0, 1, 1, 3, EwmaLimits::Steady).signalled, (std::vector<std::size_t> { 2, 4 }));
    EXPECT_EQ(ewmaChart(values, 0, 1, 1, 3, EwmaLimits::Exact).signalled, (std::vector<std::size_t> { 2, 4 }));
}

TEST(CusumChart, MeetsTheNistExample)
{
    // k 0.3175 and h 4.1959 in the units of the data, sigma of a mean 1.27 / 2.
    const double sd = 0.635;
    const reference::ReferenceTable table("statistics/nist_cusum.csv");
    const auto chart = cusumChart(table.numbers("mean_of_4"), 325, sd, 0.3175 / sd, 4.1959 / sd);
    ASSERT_EQ(chart.high.size(), table.size());
    for (std::size_t i = 0; i < table.size(); ++i) {
        EXPECT_NEAR(chart.high[i] * sd, table.number(i, "printed_S_hi"), 0.005001) << i + 1;
        EXPECT_NEAR(chart.low[i] * sd, table.number(i, "printed_S_lo"), 0.005001) << i + 1;
        EXPECT_NEAR(chart.high[i] * sd, table.number(i, "calc_S_hi"), 5.1e-5) << i + 1;
        EXPECT_NEAR(chart.low[i] * sd, table.number(i, "calc_S_lo"), 5.1e-5) << i + 1;
    }
    EXPECT_EQ(chart.signalled, (std::vector<std::size_t> { 14, 15, 16, 17, 18, 19, 20 }));
    EXPECT_EQ(chart.began, std::optional<std::size_t>(13)); // S_hi is 0 at group 12
}

TEST(CusumChart, NeedsASumStrictlyAboveTheLimit)
{
    // Analytic, exact in binary: 1.5 - 0.5 a step.
    const std::vector<double> values = { 1.5, 1.5, 1.5, 1.5, 1.5 };
    EXPECT_EQ(cusumChart(values, 0, 1, 0.5, 4).signalled, (std::vector<std::size_t> { 5 }));
    EXPECT_EQ(cusumChart(values, 0, 1, 0.5, 4).began, std::optional<std::size_t>(1));
    EXPECT_EQ(cusumChart(std::vector<double>(4, 1.5), 0, 1, 0.5, 4).began, std::nullopt);
}

TEST(CusumChart, BeginsWhereTheExcursionOfTheFirstSignalLeftZero)
{
    // An early excursion that ends without a signal, then a low one that signals, then a high one.
    const std::vector<double> values = { 2, -3, 0, -3, -3, 0.5, 9, 9 };
    const auto chart = cusumChart(values, 0, 1, 0.5, 4);
    EXPECT_EQ(chart.signalled.front(), 4U);
    EXPECT_EQ(chart.began, std::optional<std::size_t>(2));
    EXPECT_EQ(chart.high[1], 0);
}

TEST(DriftCharts, AreNotTrappedByBinaryFractions)
{
    // Analytic: 5.75 lies 1.5 SD above 5.6, so four of them bring the sum to exactly 4 (as doubles slightly above it);
    // 5.65 leaves the sum at exactly 0, so an excursion after it begins after it.
    const std::vector<double> onTheLimit(4, 5.75);
    ASSERT_GT((5.75 - 5.6) / 0.1, 1.5);
    EXPECT_TRUE(cusumChart(onTheLimit, 5.6, 0.1, 0.5, 4).signalled.empty());
    const std::vector<double> after = { 5.65, 5.65, 5.9, 5.9, 5.9 };
    EXPECT_EQ(cusumChart(after, 5.6, 0.1, 0.5, 4).began, std::optional<std::size_t>(3));
    // The first exact limit is lambda x width: a first value of exactly 3 SD lies on it.
    EXPECT_TRUE(ewmaChart(std::vector<double> { 6.5 }, 5.6, 0.3, 0.2, 3, EwmaLimits::Exact).signalled.empty());
    EXPECT_EQ(ewmaChart(std::vector<double> { 6.51 }, 5.6, 0.3, 0.2, 3, EwmaLimits::Exact).signalled.size(), 1U);
}

TEST(DriftCharts, AreEmptyForAnEmptySeries)
{
    EXPECT_TRUE(ewmaChart({}, 0, 1, 0.2, 3, EwmaLimits::Exact).values.empty());
    EXPECT_TRUE(cusumChart({}, 0, 1, 0.5, 4).signalled.empty());
}

TEST(DriftCharts, DoNotChangeWithUnitOrOffset)
{
    const auto values = driftingValues(300, 0.01);
    const auto other = driftScaled(values, 18.0156, 250);
    const auto plain = ewmaChart(values, 0, 1, 0.2, 3, EwmaLimits::Exact);
    const auto moved = ewmaChart(other, 250, 18.0156, 0.2, 3, EwmaLimits::Exact);
    EXPECT_EQ(plain.signalled, moved.signalled);
    EXPECT_FALSE(plain.signalled.empty());
    const auto sums = cusumChart(values, 0, 1, 0.5, 4);
    const auto movedSums = cusumChart(other, 250, 18.0156, 0.5, 4);
    EXPECT_EQ(sums.signalled, movedSums.signalled);
    EXPECT_EQ(sums.began, movedSums.began);
    for (std::size_t i = 0; i < values.size(); ++i) {
        EXPECT_NEAR(plain.values[i] * 18.0156 + 250, moved.values[i], 1e-9);
        EXPECT_NEAR(sums.high[i], movedSums.high[i], 1e-9);
    }
}

TEST(DriftCharts, SwapSidesOnTheMirroredSeries)
{
    const auto values = driftingValues(200, 0.02);
    const auto mirrored = driftScaled(values, -1, 0);
    const auto chart = cusumChart(values, 0, 1, 0.5, 4);
    const auto other = cusumChart(mirrored, 0, 1, 0.5, 4);
    EXPECT_EQ(chart.high, other.low);
    EXPECT_EQ(chart.low, other.high);
    EXPECT_EQ(chart.signalled, other.signalled);
    EXPECT_EQ(ewmaChart(values, 0, 1, 0.2, 3, EwmaLimits::Exact).signalled, ewmaChart(mirrored, 0, 1, 0.2, 3, EwmaLimits::Exact).signalled);
}

TEST(Advance, GivesWhatTheWholeSeriesGives)
{
    const auto values = driftingValues(200, 0.02);
    const DriftSettings settings;
    const auto ewma = ewmaChart(values, 0, 1, settings.lambda, settings.width, EwmaLimits::Exact);
    const auto cusum = cusumChart(values, 0, 1, settings.k, settings.h);
    DriftState state;
    std::vector<std::size_t> ewmaSignals;
    std::vector<std::size_t> cusumSignals;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const auto signals = advance(state, values[i], settings);
        EXPECT_EQ(state.ewma, ewma.values[i]);
        EXPECT_EQ(state.cusumHigh, cusum.high[i]);
        EXPECT_EQ(state.cusumLow, cusum.low[i]);
        EXPECT_EQ(signals.any(), signals.ewmaHigh || signals.ewmaLow || signals.cusumHigh || signals.cusumLow);
        if (signals.ewmaHigh || signals.ewmaLow)
            ewmaSignals.push_back(i + 1);
        if (signals.cusumHigh || signals.cusumLow)
            cusumSignals.push_back(i + 1);
    }
    EXPECT_EQ(ewmaSignals, ewma.signalled);
    EXPECT_EQ(cusumSignals, cusum.signalled);
    EXPECT_FALSE(ewmaSignals.empty());
    EXPECT_EQ(state.n, 200);
}

TEST(Advance, SeesTheSlowDriftOfTheHandbook)
{
    // Handbook 6.3, case K: EWMA and CUSUM(4) signal first in set 12, CUSUM(5) in set 13.
    const std::vector<std::pair<double, double>> sets = { { -.3, .2 }, { .4, -.5 }, { -.2, .5 }, { .6, .1 }, { .2, .7 }, { .7, -.1 },
        { .5, .9 }, { .9, .6 }, { .8, 1.1 }, { 1.2, .5 }, { .9, 1.3 }, { 1.3, .9 }, { 1.1, 1.4 }, { 1.5, .95 }, { 1.3, 1.6 } };
    DriftState state;
    DriftState stateOfFive;
    DriftSettings five;
    five.h = 5;
    std::size_t firstEwma = 0;
    std::size_t firstFour = 0;
    std::size_t firstFive = 0;
    for (std::size_t i = 0; i < sets.size(); ++i) {
        const double z = combinedScore(std::vector<double> { sets[i].first, sets[i].second });
        const auto signals = advance(state, z, DriftSettings());
        if (signals.ewmaHigh && firstEwma == 0)
            firstEwma = i + 1;
        if (signals.cusumHigh && firstFour == 0)
            firstFour = i + 1;
        if (advance(stateOfFive, z, five).cusumHigh && firstFive == 0)
            firstFive = i + 1;
        EXPECT_FALSE(signals.ewmaLow || signals.cusumLow);
    }
    EXPECT_EQ(firstEwma, 12U);
    EXPECT_EQ(firstFour, 12U);
    EXPECT_EQ(firstFive, 13U);
}

TEST(CombinedScore, DividesTheSumByTheRootOfTheNumber)
{
    EXPECT_DOUBLE_EQ(combinedScore(std::vector<double> { 1.5 }), 1.5);
    EXPECT_DOUBLE_EQ(combinedScore(std::vector<double> { 1, 2 }), 3 / std::sqrt(2.0)); // handbook 6.2
    EXPECT_DOUBLE_EQ(combinedScore(std::vector<double> { 1, 1, 1 }), std::sqrt(3.0));
}

} // namespace mk::stats
