// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/weighted_deming.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace mk::stats {

namespace {

std::string weightedDemingFault(const std::vector<double>& x, const std::vector<double>& y, double ratio = 1)
{
    const auto fit = weightedDeming(x, y, ratio);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// Published figures: method_comparison_reference_test.cpp.
TEST(WeightedDeming, FindsAnExactLine) // analytic
{
    const auto fit = weightedDeming(std::vector<double> { 10, 20, 40, 80 }, std::vector<double> { 14, 25, 47, 91 }).value();
    EXPECT_NEAR(fit.line->slope, 1.1, 1e-12);
    EXPECT_NEAR(fit.line->intercept, 3, 1e-10);
    EXPECT_NEAR(fit.uncertainty->slopeError(), 0, 1e-10);
}

TEST(WeightedDeming, TurnsIntoItsInverseWithTheAxes) // at ratio 1 the weights are the same from both sides
{
    std::mt19937 random(2);
    std::uniform_real_distribution<double> level(40, 400);
    std::normal_distribution<double> error(1, 0.05);
    std::vector<double> x;
    std::vector<double> y;
    for (int i = 0; i < 30; ++i) {
        const double truth = level(random);
        x.push_back(truth * error(random));
        y.push_back((truth + 4) * error(random));
    }
    const auto there = *weightedDeming(x, y).value().line;
    const auto back = *weightedDeming(y, x).value().line;
    EXPECT_NEAR(back.slope, 1 / there.slope, 1e-8);
    EXPECT_NEAR(back.intercept, -there.intercept / there.slope, 1e-6);
}

TEST(WeightedDeming, HeedsALowPairMoreThanAHighOne)
{
    const std::vector<double> x = { 10, 20, 50, 100, 200, 400 };
    const std::vector<double> y = { 10, 20, 50, 100, 200, 440 };
    const auto plain = *deming(x, y).value().line;
    const auto weighted = *weightedDeming(x, y).value().line;
    EXPECT_GT(plain.slope, weighted.slope);
    EXPECT_LT(std::abs(weighted.at(10) - 10), std::abs(plain.at(10) - 10));
}

TEST(WeightedDeming, SaysWhatIsWrongWithTheInput)
{
    EXPECT_EQ(weightedDemingFault({}, {}), "there are 0 pairs; give at least 1");
    EXPECT_NE(weightedDemingFault({ 1, 2, 0 }, { 1, 2, 3 }).find("pair 3 holds a number that is not above 0"), std::string::npos);
    EXPECT_NE(weightedDemingFault({ 1, 2, 3 }, { -1, 2, 3 }).find("pair 1 holds a number that is not above 0"), std::string::npos);
    EXPECT_NE(weightedDemingFault({ 1, 2 }, { 1, 2 }, 0).find("error ratio"), std::string::npos);
    EXPECT_FALSE(weightedDeming(std::vector<double> { 4, 4 }, std::vector<double> { 1, 2 }).value().line);
}

} // namespace mk::stats
