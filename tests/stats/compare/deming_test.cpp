// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/deming.h"

#include "stats/basics/jackknife.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace mk::stats {

namespace {

struct DemingPairs {
    std::vector<double> x;
    std::vector<double> y;
};

DemingPairs demingPairs(unsigned seed, std::size_t n)
{
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> level(40, 400);
    std::normal_distribution<double> error(0, 8);
    DemingPairs pairs;
    for (std::size_t i = 0; i < n; ++i) {
        const double truth = level(random);
        pairs.x.push_back(truth + error(random));
        pairs.y.push_back(5 + 0.9 * truth + error(random));
    }
    return pairs;
}

std::vector<double> withoutOne(std::vector<double> values, std::size_t which)
{
    values.erase(values.begin() + static_cast<std::ptrdiff_t>(which));
    return values;
}

void expectClose(double actual, double expected, double relative)
{
    EXPECT_NEAR(actual, expected, relative * std::max(1e-3, std::abs(expected)));
}

/// Linnet's jackknife as it is written: every line anew, pseudovalues, their SD.
double plainJackknifeError(const DemingPairs& pairs, double ratio, double at)
{
    const auto n = static_cast<double>(pairs.x.size());
    const double whole = deming(pairs.x, pairs.y, ratio).value().line->at(at);
    std::vector<double> pseudovalues;
    for (std::size_t i = 0; i < pairs.x.size(); ++i)
        pseudovalues.push_back(n * whole - (n - 1) * deming(withoutOne(pairs.x, i), withoutOne(pairs.y, i), ratio).value().line->at(at));
    double mean = 0;
    for (const double one : pseudovalues)
        mean += one / n;
    double squares = 0;
    for (const double one : pseudovalues)
        squares += (one - mean) * (one - mean);
    return std::sqrt(squares / (n - 1) / n);
}

std::string demingFault(const std::vector<double>& x, const std::vector<double>& y, double ratio = 1, double confidence = 0.95)
{
    const auto fit = deming(x, y, ratio, confidence);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// Published figures: method_comparison_reference_test.cpp.
TEST(Deming, FindsAnExactLineAtAnyRatio) // analytic
{
    const std::vector<double> x = { 1, 2, 4, 8 };
    for (const double slope : { 2.0, 0.5, -1.0, -3.0 }) {
        std::vector<double> y;
        for (const double one : x)
            y.push_back(3 + slope * one);
        for (const double ratio : { 0.25, 1.0, 9.0 }) {
            const auto fit = deming(x, y, ratio).value();
            EXPECT_NEAR(fit.line->slope, slope, 1e-14);
            EXPECT_NEAR(fit.line->intercept, 3, 1e-13);
            EXPECT_NEAR(fit.slopeCi->upper - fit.slopeCi->lower, 0, 1e-13);
        }
    }
}

TEST(Deming, MinimizesTheWeightedSquaredDistances) // the definition, not the formula
{
    const auto pairs = demingPairs(3, 40);
    for (const double ratio : { 0.3, 1.0, 4.0 }) {
        const auto line = *deming(pairs.x, pairs.y, ratio).value().line;
        const auto cost = [&](double slope, double intercept) {
            double sum = 0;
            for (std::size_t i = 0; i < pairs.x.size(); ++i)
                sum += std::pow(pairs.y[i] - intercept - slope * pairs.x[i], 2) / (1 + ratio * slope * slope);
            return sum;
        };
        const double least = cost(line.slope, line.intercept);
        for (const double step : { -1e-3, 1e-3 }) {
            EXPECT_GT(cost(line.slope + step, line.intercept), least);
            EXPECT_GT(cost(line.slope, line.intercept + step), least);
        }
    }
}

TEST(Deming, TurnsIntoItsInverseWithTheAxes)
{
    for (unsigned seed = 0; seed < 20; ++seed) {
        const auto pairs = demingPairs(seed, 25);
        for (const double ratio : { 0.5, 1.0, 3.0 }) {
            const auto there = *deming(pairs.x, pairs.y, ratio).value().line;
            const auto back = *deming(pairs.y, pairs.x, 1 / ratio).value().line;
            expectClose(back.slope, 1 / there.slope, 1e-12);
            expectClose(back.intercept, -there.intercept / there.slope, 1e-10);
        }
    }
}

TEST(Deming, MovesWithShiftAndScaleAndNotWithTheOrder)
{
    const auto pairs = demingPairs(5, 30);
    const auto fit = deming(pairs.x, pairs.y, 2).value();
    DemingPairs moved { { pairs.x.rbegin(), pairs.x.rend() }, { pairs.y.rbegin(), pairs.y.rend() } };
    for (std::size_t i = 0; i < moved.x.size(); ++i) {
        moved.x[i] = 4 * moved.x[i] + 1000;
        moved.y[i] = 4 * moved.y[i] - 70;
    }
    const auto other = deming(moved.x, moved.y, 2).value();
    expectClose(other.line->slope, fit.line->slope, 1e-12);
    expectClose(other.line->intercept, 4 * fit.line->intercept - 70 - 1000 * fit.line->slope, 1e-11);
    expectClose(other.uncertainty->slopeError(), fit.uncertainty->slopeError(), 1e-10);
    expectClose(other.uncertainty->errorAt(1000 + 4 * 150), 4 * fit.uncertainty->errorAt(150), 1e-10);
}

TEST(Deming, GoesFromLeastSquaresOfYToThatOfX)
{
    const auto pairs = demingPairs(6, 30);
    const auto moments = pairMoments(pairs.x, pairs.y).value();
    expectClose(demingLine(moments, 1e-12)->slope, moments.sxy / moments.sxx, 1e-9);
    expectClose(demingLine(moments, 1e12)->slope, moments.syy / moments.sxy, 1e-9);
    double last = 0;
    for (const double ratio : { 0.01, 0.1, 1.0, 10.0, 100.0 }) {
        const double slope = demingLine(moments, ratio)->slope;
        EXPECT_GT(slope, last);
        last = slope;
    }
}

TEST(DemingJackknife, AgreesWithPseudovaluesAtEveryLevel)
{
    for (unsigned seed = 0; seed < 5; ++seed) {
        auto pairs = demingPairs(seed, 12);
        if (seed == 4) { // one pair that holds nearly all of both sums
            pairs.x.push_back(1e7);
            pairs.y.push_back(1.1e7);
        }
        const auto fit = deming(pairs.x, pairs.y, 2).value();
        for (const double at : { 0.0, 70.0, 180.0, 1e4 })
            expectClose(fit.uncertainty->errorAt(at), plainJackknifeError(pairs, 2, at), seed == 4 ? 1e-6 : 1e-8); // far from the centre
    }
}

TEST(DemingJackknife, IsNothingWhereALineIsNotDetermined)
{
    // Without the last pair all x are equal.
    const auto fit = deming(std::vector<double> { 0.1, 0.1, 0.1, 0.7 }, std::vector<double> { 1, 2, 3, 4 }).value();
    EXPECT_TRUE(fit.line.has_value());
    EXPECT_FALSE(fit.uncertainty || fit.slopeCi || fit.interceptCi);
    const auto two = deming(std::vector<double> { 1, 2 }, std::vector<double> { 1, 3 }).value();
    EXPECT_EQ(two.line->slope, 2);
    EXPECT_FALSE(two.uncertainty);
}

TEST(Deming, IsNothingWithoutASlope)
{
    EXPECT_FALSE(deming(std::vector<double> { 5 }, std::vector<double> { 6 }).value().line);
    EXPECT_FALSE(deming(std::vector<double> { 5, 5, 5 }, std::vector<double> { 6, 7, 8 }).value().line);
    EXPECT_FALSE(deming(std::vector<double> { 1, -1, 0, 0 }, std::vector<double> { 0, 0, 1, -1 }).value().line); // a cross
    const auto flat = deming(std::vector<double> { 1, 2, 3, 4 }, std::vector<double> { 7, 7, 7, 7 }).value();
    EXPECT_EQ(flat.line->slope, 0);
    EXPECT_EQ(flat.line->intercept, 7);
    EXPECT_EQ(flat.uncertainty->slopeError(), 0);
}

TEST(Deming, SaysWhatIsWrongWithTheInput)
{
    EXPECT_EQ(demingFault({}, {}), "there are 0 pairs; give at least 1");
    EXPECT_NE(demingFault({ 1, 2 }, { 1 }).find("2 and 1"), std::string::npos);
    EXPECT_NE(demingFault({ 1, 2 }, { 1, std::nan("") }).find("pair 2"), std::string::npos);
    EXPECT_NE(demingFault({ 1, 2 }, { 1, 1e200 }).find("too far apart"), std::string::npos);
    for (const double ratio : { 0.0, -1.0, std::nan(""), HUGE_VAL, 1e-320 })
        EXPECT_EQ(demingFault({ 1, 2 }, { 1, 2 }, ratio), "the error ratio must be above 0, such as 1");
    EXPECT_NE(demingFault({ 1, 2 }, { 1, 2 }, 1, 95).find("confidence"), std::string::npos);
}

// An error ratio near the ends of the range makes a product overflow; a slope of 0 came out of dividing by that.
TEST(Deming, HasNoLineWhereTheSumsLeaveTheRangeOfNumbers)
{
    const PairMoments moments { 20, 5, 5, 1e10, 1e10, 1e2 };
    EXPECT_FALSE(demingLine(moments, 1e-305));
    EXPECT_FALSE(demingLine({ 20, 5, 5, 1.2e308, 1.2e307, 1e308 }, 100));
    ASSERT_TRUE(demingLine(moments, 1e-290));
    EXPECT_NEAR(demingLine(moments, 1e-290)->slope, 1e-8, 1e-20); // analytic: least squares, sxy / sxx
}

} // namespace mk::stats
