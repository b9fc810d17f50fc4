// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/errors_in_variables.h"

#include "stats/compare/deming.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

namespace {

const std::vector<double> kYorkX = { 1, 2, 3, 5, 8 };
const std::vector<double> kYorkY = { 1.2, 2.1, 2.7, 5.3, 7.6 };

std::string yorkFault(
    const std::vector<double>& x, const std::vector<double>& y, const std::vector<double>& sdX, const std::vector<double>& sdY)
{
    const auto fit = errorsInVariables(x, y, sdX, sdY);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// Published figures: method_comparison_reference_test.cpp; here the six digits of the status column there.
TEST(ErrorsInVariables, AgreesOnTheArsenateData)
{
    const reference::ReferenceTable data("accuracy/mc_arsenate.csv");
    const auto fit = errorsInVariables(data.numbers("aas"), data.numbers("aes"), data.numbers("se_aas"), data.numbers("se_aes")).value();
    EXPECT_NEAR(fit.line.slope, 0.972988, 5e-7);
    EXPECT_NEAR(fit.line.intercept, 0.106448, 5e-7);
    EXPECT_NEAR(fit.reducedChiSquare.value(), 1.35838, 5e-6);
}

TEST(ErrorsInVariables, IsDemingWhereAllSdsAreAlike)
{
    const auto fit = errorsInVariables(kYorkX, kYorkY, std::vector<double>(5, 0.2), std::vector<double>(5, 0.1)).value();
    const auto line = *deming(kYorkX, kYorkY, 4).value().line;
    EXPECT_NEAR(fit.line.slope, line.slope, 1e-12);
    EXPECT_NEAR(fit.line.intercept, line.intercept, 1e-12);
}

TEST(ErrorsInVariables, TurnsIntoItsInverseWithTheAxes)
{
    const std::vector<double> sdX = { 0.1, 0.2, 0.3, 0.2, 0.4 };
    const std::vector<double> sdY = { 0.2, 0.1, 0.2, 0.4, 0.3 };
    const auto there = errorsInVariables(kYorkX, kYorkY, sdX, sdY).value();
    const auto back = errorsInVariables(kYorkY, kYorkX, sdY, sdX).value();
    EXPECT_NEAR(back.line.slope, 1 / there.line.slope, 1e-12);
    EXPECT_NEAR(back.chiSquare, there.chiSquare, 1e-11);
}

TEST(ErrorsInVariables, SaysWhatIsWrongWithTheInput)
{
    const std::vector<double> one(5, 1);
    EXPECT_NE(yorkFault({ 1 }, { 1 }, { 1 }, { 1 }).find("at least 2"), std::string::npos);
    EXPECT_NE(yorkFault(kYorkX, kYorkY, { 1, 1 }, one).find("2 and 5"), std::string::npos);
    EXPECT_NE(yorkFault(kYorkX, kYorkY, one, { 1, 1 }).find("5 and 2"), std::string::npos);
    EXPECT_NE(yorkFault(kYorkX, kYorkY, { 1, 1, 0, 1, 1 }, one).find("SD of a point is not above 0"), std::string::npos);
    EXPECT_NE(yorkFault(kYorkX, kYorkY, one, { 1, 1, -1, 1, 1 }).find("SD of a point is not above 0"), std::string::npos);
    EXPECT_NE(yorkFault({ 2, 2, 2, 2, 2 }, kYorkY, one, one).find("do not settle"), std::string::npos);
    EXPECT_NE(yorkFault(kYorkX, { 1, 2, std::nan(""), 3, 4 }, one, one).find("pair 3"), std::string::npos);
}

} // namespace mk::stats
