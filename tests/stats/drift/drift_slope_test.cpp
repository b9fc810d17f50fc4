// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift_slope.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

std::string driftSlopeFault(const std::vector<double>& time, const std::vector<double>& value, double confidence = 0.95)
{
    const auto drift = driftSlope(time, value, confidence);
    return drift ? std::string() : drift.error().text;
}

} // namespace

TEST(DriftSlope, MeetsTheExampleOfSen)
{
    // Sen 1968, mc_sen_1968.csv: 4, 6, 26/7 and 35/8 at 93 %.
    const reference::ReferenceTable table("accuracy/mc_sen_1968.csv");
    const reference::ReferenceTable expected("accuracy/method_comparison_expected.csv");
    const DriftSlope drift = driftSlope(table.numbers("x"), table.numbers("y"), 0.93).value();
    EXPECT_EQ(drift.pairs, 21U);
    std::size_t rows = 0;
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "dataset") != "mc_sen_1968")
            continue;
        const std::string parameter = expected.text(row, "parameter");
        const double computed = parameter == "slope" ? drift.slope
            : parameter == "intercept"               ? drift.intercept
            : parameter == "slope_ci93_low"          ? drift.slopeCi->lower
                                                     : drift.slopeCi->upper;
        EXPECT_NEAR(computed, expected.number(row, "expected"), 1e-12) << parameter;
        ++rows;
    }
    EXPECT_EQ(rows, 4U);
}

TEST(DriftSlope, FollowsALineThroughWildPoints)
{
    std::mt19937 random(21);
    std::vector<double> time;
    std::vector<double> value;
    for (int i = 0; i < 60; ++i) {
        time.push_back(i);
        value.push_back(i % 5 == 0 ? 1e9 : 100 + 0.05 * i);
    }
    const DriftSlope drift = driftSlope(time, value).value();
    EXPECT_NEAR(drift.slope, 0.05, 1e-9);
    EXPECT_NEAR(drift.intercept, 100, 1e-6);
}

TEST(DriftSlope, ScalesAndShiftsWithTheDataInAnyOrder)
{
    std::mt19937 random(22);
    std::normal_distribution<double> noise;
    std::vector<double> time;
    std::vector<double> value;
    for (int i = 0; i < 41; ++i) {
        time.push_back(i / 2); // two results a day
        value.push_back(noise(random));
    }
    const DriftSlope plain = driftSlope(time, value).value();
    std::vector<std::size_t> order(time.size());
    std::iota(order.begin(), order.end(), 0U);
    for (int repeat = 0; repeat < 20; ++repeat) {
        std::shuffle(order.begin(), order.end(), random);
        std::vector<double> otherTime;
        std::vector<double> otherValue;
        for (const std::size_t at : order) {
            otherTime.push_back(time[at] * 24 + 5);
            otherValue.push_back(-2 * value[at] + 0.25 * time[at] + 7);
        }
        const DriftSlope other = driftSlope(otherTime, otherValue).value();
        EXPECT_NEAR(other.slope * 24, -2 * plain.slope + 0.25, 1e-12);
        EXPECT_NEAR(other.slopeCi->lower * 24, -2 * plain.slopeCi->upper + 0.25, 1e-12);
        EXPECT_EQ(other.pairs, plain.pairs);
    }
}

TEST(DriftSlope, CoversTheTruthAsOftenAsItSays)
{
    // A seeded simulation of 1000 series of 15 without drift: 95 % within 3 standard errors (0.7 % each), and never less by design.
    std::mt19937 random(23);
    std::normal_distribution<double> noise;
    std::vector<double> time(15);
    std::iota(time.begin(), time.end(), 0.0);
    int covered = 0;
    for (int series = 0; series < 1000; ++series) {
        std::vector<double> value;
        for (std::size_t i = 0; i < time.size(); ++i)
            value.push_back(noise(random));
        const Interval interval = driftSlope(time, value)->slopeCi.value();
        covered += interval.lower <= 0 && interval.upper >= 0 ? 1 : 0;
    }
    EXPECT_GT(covered, 929);
    EXPECT_LT(covered, 985);
}

TEST(DriftSlope, GivesNoIntervalForTooFewPoints)
{
    const DriftSlope two = driftSlope(std::vector<double> { 1, 3 }, std::vector<double> { 5, 6 }).value();
    EXPECT_EQ(two.slope, 0.5);
    EXPECT_EQ(two.intercept, 4.5);
    EXPECT_FALSE(two.slopeCi);
    EXPECT_FALSE(driftSlope(std::vector<double> { 1, 2, 3, 4 }, std::vector<double> { 1, 2, 3, 4 })->slopeCi);
    EXPECT_TRUE(driftSlope(std::vector<double> { 1, 2, 3, 4, 5, 6 }, std::vector<double> { 1, 2, 3, 4, 5, 6 })->slopeCi);
}

TEST(DriftSlope, TakesTiesAsTheNormalCase)
{
    // Whole mg/dL: most slopes are 0, and so are the slope and both its limits.
    std::vector<double> time(30);
    std::iota(time.begin(), time.end(), 0.0);
    std::vector<double> value(30, 100);
    value[4] = 101;
    value[20] = 99;
    const DriftSlope flat = driftSlope(time, value).value();
    EXPECT_EQ(flat.slope, 0);
    EXPECT_EQ(flat.slopeCi->lower, 0);
    EXPECT_EQ(flat.slopeCi->upper, 0);
    const DriftSlope sameTimes = driftSlope(std::vector<double> { 1, 1, 2, 2 }, std::vector<double> { 1, 9, 2, 4 }).value();
    EXPECT_EQ(sameTimes.pairs, 4U); // slopes 1, 3, -7, -5
    EXPECT_EQ(sameTimes.slope, -2);
}

TEST(DriftSlope, SaysWhatIsWrong)
{
    EXPECT_EQ(driftSlopeFault({}, {}), "there is no time; give at least one");
    EXPECT_EQ(driftSlopeFault({ 1, 1 }, { 1, 2 }), "all values are of one time; a slope needs at least two times");
    EXPECT_EQ(driftSlopeFault({ 1, 2 }, { 1 }), "times and values differ in number; give each value its time");
    EXPECT_EQ(driftSlopeFault({ 1, 2 }, { 1, std::nan("") }), "value 2 is not a finite number; correct it or leave it out");
    EXPECT_EQ(driftSlopeFault({ 1, 2 }, { 1e308, -1e308 }), "the values are too far apart to compute with; look for a slip in them");
    std::vector<double> many(kMostDriftPoints + 1);
    std::iota(many.begin(), many.end(), 0.0);
    EXPECT_EQ(driftSlopeFault(many, many), "there are 5001 points; give at most 5000, such as daily means");
    EXPECT_NE(driftSlopeFault({ 1, 2 }, { 1, 2 }, 0), "");
}

} // namespace mk::stats
