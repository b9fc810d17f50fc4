// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/least_squares.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

double norrisCertified(const std::string& parameter)
{
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "dataset") == "nist_linear_Norris" && expected.text(row, "parameter") == parameter)
            return expected.number(row, "certified");
    }
    ADD_FAILURE() << parameter;
    return 0;
}

void expectRelative(double actual, double expected, double relative)
{
    EXPECT_LE(std::abs(actual - expected), relative * std::abs(expected)) << actual << " for " << expected;
}

std::string leastSquaresFault(const std::vector<double>& x, const std::vector<double>& y, const std::vector<double>& weights = {})
{
    const auto fit = leastSquares(x, y, weights);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// NIST StRD Norris, certified to 15 digits. Other published figures: method_comparison_reference_test.cpp.
TEST(LeastSquares, ReachesTwelveDigitsOnNorris)
{
    const reference::ReferenceTable data("accuracy/nist_linear_Norris.csv");
    const auto fit = leastSquares(data.numbers("x"), data.numbers("y")).value();
    expectRelative(fit.line->intercept, norrisCertified("intercept"), 1e-12);
    expectRelative(fit.line->slope, norrisCertified("slope"), 1e-13);
    expectRelative(fit.uncertainty->errorAt(0), norrisCertified("intercept_se"), 1e-12);
    expectRelative(fit.uncertainty->slopeError(), norrisCertified("slope_se"), 1e-12);
    expectRelative(fit.residualSd.value(), norrisCertified("residual_sd"), 1e-12);
    expectRelative(fit.rSquared.value(), norrisCertified("R_squared"), 1e-14);
    const double df = 34;
    expectRelative(std::pow(fit.residualSd.value(), 2) * df, norrisCertified("residual_SS"), 1e-12);
    expectRelative(std::pow(fit.line->slope / fit.uncertainty->slopeError(), 2), norrisCertified("F"), 1e-12);
}

TEST(LeastSquares, TakesAWeightOfTwoAsTwoPairs)
{
    const auto weighted
        = leastSquares(std::vector<double> { 1, 2, 3, 5 }, std::vector<double> { 2, 3, 3, 6 }, std::vector<double> { 2, 1, 3, 1 }).value();
    const auto repeated = leastSquares(std::vector<double> { 1, 1, 2, 3, 3, 3, 5 }, std::vector<double> { 2, 2, 3, 3, 3, 3, 6 }).value();
    EXPECT_NEAR(weighted.line->slope, repeated.line->slope, 1e-15);
    EXPECT_NEAR(weighted.line->intercept, repeated.line->intercept, 1e-15);
    EXPECT_NEAR(weighted.r.value(), repeated.r.value(), 1e-15);
    // The same squares, shared among 2 instead of 5 degrees of freedom.
    EXPECT_NEAR(weighted.residualSd.value(), repeated.residualSd.value() * std::sqrt(5.0 / 2), 1e-15);
}

TEST(LeastSquares, HeedsTheRatioOfWeightsOnly)
{
    const std::vector<double> x = { 1, 2, 3, 5, 9 };
    const std::vector<double> y = { 2, 3, 3, 6, 8 };
    const auto one = leastSquares(x, y, std::vector<double> { 1, 2, 3, 4, 5 }).value();
    const auto ten = leastSquares(x, y, std::vector<double> { 10, 20, 30, 40, 50 }).value();
    expectRelative(ten.line->slope, one.line->slope, 1e-14);
    expectRelative(ten.uncertainty->errorAt(0), one.uncertainty->errorAt(0), 1e-13);
    expectRelative(ten.interceptCi->upper, one.interceptCi->upper, 1e-13);
}

TEST(LeastSquares, MovesWithShiftAndScaleAndNotWithTheOrder)
{
    const std::vector<double> x = { 3, 1, 9, 2, 5 };
    const std::vector<double> y = { 3, 2, 8, 3, 6 };
    const auto fit = leastSquares(x, y).value();
    std::vector<double> movedX(x.rbegin(), x.rend());
    std::vector<double> movedY(y.rbegin(), y.rend());
    for (std::size_t i = 0; i < x.size(); ++i) {
        movedX[i] = 2 * movedX[i] + 1e6;
        movedY[i] = -4 * movedY[i] + 7;
    }
    const auto moved = leastSquares(movedX, movedY).value();
    expectRelative(moved.line->slope, -2 * fit.line->slope, 1e-14);
    expectRelative(moved.r.value(), -fit.r.value(), 1e-14);
    expectRelative(moved.residualSd.value(), 4 * fit.residualSd.value(), 1e-13);
}

TEST(LeastSquares, GivesNothingWhereThereIsNothing)
{
    EXPECT_FALSE(leastSquares(std::vector<double> { 4 }, std::vector<double> { 4 }).value().line);
    EXPECT_FALSE(leastSquares(std::vector<double> { 0.1, 0.1, 0.1 }, std::vector<double> { 1, 2, 3 }).value().line);
    const auto two = leastSquares(std::vector<double> { 1, 2 }, std::vector<double> { 5, 3 }).value();
    EXPECT_EQ(two.line->slope, -2);
    EXPECT_EQ(two.line->intercept, 7);
    EXPECT_FALSE(two.residualSd || two.uncertainty || two.slopeCi);
    const auto flat = leastSquares(std::vector<double> { 1, 2, 3 }, std::vector<double> { 5, 5, 5 }).value();
    EXPECT_EQ(flat.line->slope, 0);
    EXPECT_FALSE(flat.r || flat.rSquared);
}

TEST(LeastSquares, SaysWhatIsWrongWithTheInput)
{
    EXPECT_EQ(leastSquaresFault({}, {}), "there are 0 pairs; give at least 1");
    EXPECT_NE(leastSquaresFault({ 1, 2 }, { 1 }).find("2 and 1"), std::string::npos);
    EXPECT_NE(leastSquaresFault({ 1, HUGE_VAL }, { 1, 2 }).find("pair 2"), std::string::npos);
    EXPECT_EQ(leastSquaresFault({ 1, 2 }, { 1, 2 }, { 1 }), "there are 1 weights for 2 pairs; give one for each");
    EXPECT_NE(leastSquaresFault({ 1, 2 }, { 1, 2 }, { 1, 0 }).find("weight 2"), std::string::npos);
    EXPECT_NE(leastSquaresFault({ 0, 1e-300 }, { 0, 1e300 }).find("too far apart"), std::string::npos);
    EXPECT_FALSE(leastSquares(std::vector<double> { 1, 2 }, std::vector<double> { 1, 2 }, {}, 0));
}

} // namespace mk::stats
