// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/passing_bablok.h"

#include "stats/basics/distributions.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <numbers>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

struct LiteralPassingBablok {
    std::optional<double> slope;
    std::optional<Interval> slopeCi;
};

/// The rule of tests/reference/accuracy/README.md, section 4, word for word, on whole numbers.
LiteralPassingBablok literalPassingBablok(const std::vector<double>& x, const std::vector<double>& y)
{
    const std::size_t n = x.size();
    std::vector<double> slopes;
    std::size_t k = 0;
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t j = i + 1; j < n; ++j) {
            const double dx = x[i] - x[j];
            const double dy = y[i] - y[j];
            if ((dx == 0 && dy == 0) || (dx != 0 && dy == -dx))
                continue;
            slopes.push_back(dx == 0 ? std::copysign(HUGE_VAL, dy) : dy / dx);
            k += slopes.back() < -1 ? 1U : 0U;
        }
    }
    std::ranges::sort(slopes);
    const std::size_t count = slopes.size();
    const auto at = [&](std::size_t rank) { // from 1
        return rank >= 1 && rank <= count && std::isfinite(slopes[rank - 1]) ? std::optional(slopes[rank - 1]) : std::nullopt;
    };
    LiteralPassingBablok result;
    if (count == 0)
        return result;
    const auto low = at((count + 1) / 2 + k);
    const auto high = at(count / 2 + 1 + k);
    if (low && high)
        result.slope = std::midpoint(*low, *high);
    const auto size = static_cast<double>(n);
    const double c = normalFactor(0.95) * std::sqrt(size * (size - 1) * (2 * size + 5) / 18);
    const double m1 = std::round((static_cast<double>(count) - c) / 2);
    if (m1 < 1 || !result.slope)
        return result;
    const auto lower = at(static_cast<std::size_t>(m1) + k);
    const auto upper = at(count - static_cast<std::size_t>(m1) + 1 + k);
    if (lower && upper)
        result.slopeCi = Interval { *lower, *upper };
    return result;
}

struct BablokPairs {
    std::vector<double> x;
    std::vector<double> y;
};

/// Tied whole numbers: y follows x, falls, or is anything.
BablokPairs tiedPairs(std::mt19937& random, std::size_t n, int span, double slope)
{
    std::uniform_int_distribution<int> draw(0, span);
    BablokPairs pairs;
    for (std::size_t i = 0; i < n; ++i) {
        pairs.x.push_back(draw(random));
        pairs.y.push_back(std::round(slope * pairs.x.back()) + draw(random) / 3);
    }
    return pairs;
}

void expectSameBits(const std::optional<double>& a, const std::optional<double>& b)
{
    ASSERT_EQ(a.has_value(), b.has_value());
    ASSERT_EQ(std::bit_cast<std::uint64_t>(a.value_or(0) + 0.0), std::bit_cast<std::uint64_t>(b.value_or(0) + 0.0));
}

void expectLiteral(const BablokPairs& pairs)
{
    const auto fit = passingBablok(pairs.x, pairs.y).value();
    const auto literal = literalPassingBablok(pairs.x, pairs.y);
    expectSameBits(fit.slope, literal.slope);
    ASSERT_EQ(fit.slopeCi.has_value(), literal.slopeCi.has_value());
    if (fit.slopeCi) {
        expectSameBits(fit.slopeCi->lower, literal.slopeCi->lower);
        expectSameBits(fit.slopeCi->upper, literal.slopeCi->upper);
    }
    expectSameBits(passingBablokSlope(pairs.x, pairs.y), fit.slope);
}

/// Glucose by two meters, one decimal.
BablokPairs glucosePairs(unsigned seed, std::size_t n)
{
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> level(2, 25);
    std::normal_distribution<double> error(0, 0.3);
    BablokPairs pairs;
    for (std::size_t i = 0; i < n; ++i) {
        const double truth = level(random);
        pairs.x.push_back(std::round(10 * (truth + error(random))) / 10);
        pairs.y.push_back(std::round(10 * (1.05 * truth + error(random))) / 10);
    }
    return pairs;
}

std::string bablokFault(const std::vector<double>& x, const std::vector<double>& y, double confidence = 0.95)
{
    const auto fit = passingBablok(x, y, confidence);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// Published figures: method_comparison_reference_test.cpp.
TEST(PassingBablok, IsTheRuleWordForWordOnTies)
{
    std::mt19937 random(11);
    for (int trial = 0; trial < 3000; ++trial) {
        const double slope = std::array { 1.0, 0.3, -0.2, 2.5, -0.9, 0.0, -3.0 }[static_cast<std::size_t>(trial) % 7];
        expectLiteral(tiedPairs(random, 1 + static_cast<std::size_t>(trial) % 40, 1 + trial % 23, slope));
    }
}

TEST(PassingBablok, IsTheRuleWordForWordWithManyPairs) // where inversions are counted
{
    std::mt19937 random(12);
    for (const std::size_t n : { 149U, 150U, 151U, 152U, 300U, 801U }) {
        for (const int span : { 2, 20, 400, 100'000 }) {
            for (const double slope : { 1.0, -0.7, 40.0 })
                expectLiteral(tiedPairs(random, n, span, slope));
        }
    }
}

TEST(PassingBablok, FindsTiesInDecimal)
{
    // 0.3 - 0.2 is below 0.2 - 0.1 in doubles, so slopes of exactly -1 and 1 would be missed.
    BablokPairs tenths = glucosePairs(1, 60);
    BablokPairs whole = tenths;
    for (std::size_t i = 0; i < whole.x.size(); ++i) {
        whole.x[i] = std::round(10 * whole.x[i]);
        whole.y[i] = std::round(10 * whole.y[i]);
    }
    const auto fit = passingBablok(tenths.x, tenths.y).value();
    const auto other = passingBablok(whole.x, whole.y).value();
    EXPECT_EQ(fit.slopes, other.slopes);
    expectSameBits(fit.slope, other.slope);
    expectSameBits(fit.slopeCi->lower, other.slopeCi->lower);
    EXPECT_NEAR(10 * fit.intercept.value(), other.intercept.value(), 1e-12);
    EXPECT_EQ(passingBablok(std::vector<double> { 0.1, 0.2, 0.3 }, std::vector<double> { 0.3, 0.2, 0.1 })->slopes, 0U);
}

TEST(PassingBablok, DoesNotDependOnTheOrderOfPairs)
{
    std::mt19937 random(13);
    for (int trial = 0; trial < 200; ++trial) {
        auto pairs = tiedPairs(random, 25, 8, trial % 2 == 0 ? 1.0 : -0.5);
        const auto fit = passingBablok(pairs.x, pairs.y).value();
        std::ranges::reverse(pairs.x);
        std::ranges::reverse(pairs.y);
        const auto turned = passingBablok(pairs.x, pairs.y).value();
        expectSameBits(turned.slope, fit.slope);
        expectSameBits(turned.intercept, fit.intercept);
        ASSERT_EQ(turned.slopeCi.has_value(), fit.slopeCi.has_value());
        ASSERT_EQ(turned.linearity.has_value(), fit.linearity.has_value());
        if (fit.linearity) {
            ASSERT_EQ(turned.linearity->largest, fit.linearity->largest);
        }
    }
}

TEST(PassingBablok, MovesWithShiftAndScale)
{
    const auto pairs = glucosePairs(2, 80);
    const auto fit = passingBablok(pairs.x, pairs.y).value();
    BablokPairs moved = pairs;
    for (std::size_t i = 0; i < moved.x.size(); ++i) {
        moved.x[i] = std::round(10 * moved.x[i] * 2 + 70) / 10;
        moved.y[i] = std::round(10 * moved.y[i] * 2 - 30) / 10;
    }
    const auto other = passingBablok(moved.x, moved.y).value();
    expectSameBits(other.slope, fit.slope);
    expectSameBits(other.slopeCi->upper, fit.slopeCi->upper);
    EXPECT_NEAR(other.intercept.value(), 2 * fit.intercept.value() - 3 - 7 * fit.slope.value(), 1e-12);
    EXPECT_EQ(other.linearity->largest, fit.linearity->largest);
}

/// Exchanging the methods turns every slope s into 1 / s, keeps those of -1 out and the others in mirrored order. The two limits are
/// exact inverses of each other; the slope is where N is odd. Of the middle two of an even N the mean of the inverses is not the
/// inverse of the mean, but both lie between the two.
TEST(PassingBablok, TurnsIntoItsInverseWithTheAxes)
{
    std::size_t odd = 0;
    for (unsigned seed = 0; seed < 60; ++seed) {
        const auto pairs = glucosePairs(seed, 30);
        const auto there = passingBablok(pairs.x, pairs.y).value();
        const auto back = passingBablok(pairs.y, pairs.x).value();
        ASSERT_EQ(there.slopes, back.slopes);
        EXPECT_NEAR(back.slopeCi->lower, 1 / there.slopeCi->upper, 1e-15);
        EXPECT_NEAR(back.slopeCi->upper, 1 / there.slopeCi->lower, 1e-15);
        const bool isOdd = there.slopes % 2 == 1;
        odd += isOdd ? 1U : 0U;
        EXPECT_NEAR(*back.slope * *there.slope, 1, isOdd ? 1e-15 : 1e-3);
        EXPECT_GE(*back.slope * *there.slope, 1 - 1e-15); // mean of inverses over inverse of mean
    }
    EXPECT_GT(odd, 5U);
    EXPECT_LT(odd, 55U);
}

TEST(PassingBablok, RoundsWhatHasTooManyDigits)
{
    BablokPairs pairs = glucosePairs(3, 200);
    const auto exact = passingBablok(pairs.x, pairs.y).value();
    for (std::size_t i = 0; i < pairs.x.size(); ++i) {
        pairs.x[i] *= std::numbers::pi;
        pairs.y[i] *= std::numbers::pi;
    }
    const auto other = passingBablok(pairs.x, pairs.y).value();
    EXPECT_NEAR(other.slope.value(), exact.slope.value(), 1e-12);
    EXPECT_NEAR(other.slopeCi->lower, exact.slopeCi->lower, 1e-12);
    EXPECT_NEAR(other.intercept.value(), std::numbers::pi * exact.intercept.value(), 1e-11);
}

TEST(PassingBablok, IsNothingWithoutASlope)
{
    const auto none = [](const std::vector<double>& x, const std::vector<double>& y) {
        const auto fit = passingBablok(x, y).value();
        return !fit.slope && !fit.intercept && !fit.slopeCi && !fit.interceptCi && !fit.linearity;
    };
    EXPECT_TRUE(none({ 5 }, { 6 }));
    EXPECT_TRUE(none({ 5, 5, 5 }, { 6, 6, 6 })); // identical
    EXPECT_TRUE(none({ 5, 5, 5 }, { 6, 7, 8 })); // vertical
    EXPECT_TRUE(none({ 1, 2, 3 }, { 3, 2, 1 })); // all slopes -1
    EXPECT_TRUE(none({ 1, 2, 3 }, { 6, 3, 0 })); // all below -1
    EXPECT_TRUE(none(std::vector<double>(500, 5), std::vector<double>(500, 5)));
    EXPECT_EQ(passingBablok(std::vector<double> { 1, 2, 3 }, std::vector<double> { 7, 7, 7 })->slope, 0.0);
}

TEST(PassingBablok, HasNoIntervalWithFewPairs)
{
    const auto fit = passingBablok(std::vector<double> { 1, 2 }, std::vector<double> { 1, 3 }).value();
    EXPECT_EQ(fit.slope, 2.0);
    EXPECT_EQ(fit.intercept, -1.0);
    EXPECT_FALSE(fit.lowerRank || fit.slopeCi || fit.interceptCi);
}

TEST(PassingBablok, NarrowsItsIntervalWithTheConfidence)
{
    const auto pairs = glucosePairs(4, 40);
    const auto wide = passingBablok(pairs.x, pairs.y, 0.99).value();
    const auto narrow = passingBablok(pairs.x, pairs.y, 0.5).value();
    const auto point = passingBablok(pairs.x, pairs.y, 1e-9).value();
    EXPECT_EQ(wide.slope, narrow.slope);
    EXPECT_LT(wide.slopeCi->lower, narrow.slopeCi->lower);
    EXPECT_GT(wide.slopeCi->upper, narrow.slopeCi->upper);
    EXPECT_LE(point.slopeCi->lower, *point.slope);
    EXPECT_GE(point.slopeCi->upper, *point.slope);
    EXPECT_LT(narrow.interceptCi->lower, narrow.interceptCi->upper);
}

TEST(PassingBablok, SaysWhatIsWrongWithTheInput)
{
    EXPECT_EQ(bablokFault({}, {}), "there are 0 pairs; give at least 1");
    EXPECT_NE(bablokFault({ 1, 2 }, { 1 }).find("2 and 1"), std::string::npos);
    EXPECT_NE(bablokFault({ 1, 2 }, { 1, std::nan("") }).find("pair 2"), std::string::npos);
    EXPECT_NE(bablokFault({ 1, 2 }, { 1, 2 }, 1).find("confidence"), std::string::npos);
    EXPECT_EQ(bablokFault({ -1.7e308, 1.7e308 }, { -1.7e308, 1.7e308 }), "");
}

TEST(CusumLinearity, AcceptsAStraightLineAndRejectsACurve)
{
    BablokPairs bent;
    for (int i = 1; i <= 60; ++i) {
        bent.x.push_back(i);
        bent.y.push_back(i + 0.03 * i * i);
    }
    const auto curve = passingBablok(bent.x, bent.y).value();
    EXPECT_FALSE(curve.linearity->linear);
    EXPECT_GT(curve.linearity->largest, curve.linearity->critical);
    int rejected = 0;
    for (unsigned seed = 100; seed < 300; ++seed) {
        const auto pairs = glucosePairs(seed, 60);
        rejected += passingBablok(pairs.x, pairs.y)->linearity->linear ? 0 : 1;
    }
    EXPECT_LE(rejected, 20); // 5 % of 200 are 10, and a fitted line is rejected less often
}

TEST(CusumLinearity, AddsUpScoresAlongTheLine) // analytic: above, above, below, below, and one on the line
{
    const auto found = cusumLinearity(std::vector<double> { 1, 2, 3, 4, 5 }, std::vector<double> { 2, 3, 3, 3, 4 }, 1, 0);
    EXPECT_EQ(found.above, 2U);
    EXPECT_EQ(found.below, 2U);
    EXPECT_DOUBLE_EQ(found.largest, 2);
    EXPECT_DOUBLE_EQ(found.critical, 1.36 * 2);
    EXPECT_TRUE(found.linear);
}

TEST(CusumLinearity, TakesPointsWithinRoundingAsOnTheLine)
{
    std::vector<double> x;
    std::vector<double> y;
    for (int i = 1; i < 60; ++i) {
        x.push_back(i / 10.0);
        y.push_back(static_cast<double>(3 * i + 1) / 10.0);
    }
    const auto fit = passingBablok(x, y).value();
    EXPECT_EQ(fit.slope, 3.0);
    EXPECT_EQ(fit.linearity->above + fit.linearity->below, 0U);
    EXPECT_TRUE(fit.linearity->linear);
}

} // namespace mk::stats
