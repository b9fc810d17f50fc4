// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/linearity.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

namespace mk::stats {

namespace {

Linearity linearityOfFile(const std::string& dataset, const Allowance& allowance = {}, LinearityAgainst against = LinearityAgainst::Line)
{
    const reference::ReferenceTable table("accuracy/" + dataset + ".csv");
    return linearityOf(table.numbers("assigned"), table.numbers("measured"), allowance, against).value();
}

const LinearityLevel& levelAt(const Linearity& linearity, double assigned)
{
    return *std::ranges::find(linearity.levels, assigned, &LinearityLevel::assigned);
}

/// The number behind " at assigned " in a step of the reference file.
double assignedOf(const std::string& step)
{
    return std::stod(step.substr(step.rfind(' ') + 1));
}

double fitFigure(const LinearityFit& one, const std::string& parameter)
{
    std::map<std::string, double> figures = { { "residual_sd", one.fit.residualSd }, { "df", static_cast<double>(one.fit.df) } };
    for (std::size_t power = 0; power < one.fit.coefficients.size(); ++power) {
        figures["b" + std::to_string(power)] = one.fit.coefficients[power];
        figures["se_b" + std::to_string(power)] = one.fit.standardErrors[power];
    }
    for (const CurvatureTest& test : one.tests) {
        figures["t_b" + std::to_string(test.power)] = test.t.value();
        figures["p_b" + std::to_string(test.power) + "_two_sided"] = test.pValue.value();
    }
    return figures.at(parameter);
}

double linearityFigure(const Linearity& linearity, const std::string& step, const std::string& parameter)
{
    if (step == "repeatability")
        return linearity.repeatabilitySd.value();
    if (step.starts_with("recovery at"))
        return levelAt(linearity, assignedOf(step)).recoveryPercent.value();
    const std::size_t order = static_cast<std::size_t>(step[step.find("order ") + 6] - '0');
    const LinearityFit& one = linearity.fits.at(order - 1);
    if (parameter != "DL")
        return fitFigure(one, parameter);
    return one.deviations.at(static_cast<std::size_t>(&levelAt(linearity, assignedOf(step)) - linearity.levels.data()));
}

double linearityTolerance(const std::string& cell, double expected)
{
    if (cell == "exact")
        return 0;
    if (cell == "9 relative" || cell == "1e-9 relative")
        return 1e-9 * std::abs(expected);
    return std::stod(cell) * std::max(1.0, std::abs(expected));
}

std::string linearityFault(const std::vector<double>& assigned, const std::vector<double>& value, const Allowance& allowance = {})
{
    const auto linearity = linearityOf(assigned, value, allowance, LinearityAgainst::Line);
    return linearity ? std::string() : linearity.error().text;
}

} // namespace

TEST(Linearity, MeetsEveryReferenceFigure)
{
    const reference::ReferenceTable expected("accuracy/linearity_expected.csv");
    const std::map<std::string, Linearity> computed = { { "linearity_example", linearityOfFile("linearity_example") },
        { "linearity_example_linear", linearityOfFile("linearity_example_linear") } };
    ASSERT_GT(expected.size(), 90U);
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const std::string dataset = expected.text(row, "dataset");
        const std::string step = expected.text(row, "step");
        const std::string parameter = expected.text(row, "parameter");
        const double value = expected.number(row, "expected");
        EXPECT_NEAR(
            linearityFigure(computed.at(dataset), step, parameter), value, linearityTolerance(expected.text(row, "tolerance"), value))
            << dataset << ' ' << step << ' ' << parameter;
    }
}

TEST(Linearity, TellsACurveFromALine)
{
    // The first set is truly curved, b2 and b3 significant and order 3 closest; the second is not (reference README, 6).
    EXPECT_EQ(linearityOfFile("linearity_example").curvedOrder, 3);
    EXPECT_FALSE(linearityOfFile("linearity_example_linear").curvedOrder);
}

TEST(Linearity, JudgesTheLineOrTheAssignedValue)
{
    // Results 10 % high throughout: on a line, but not at their assigned values.
    const std::vector<double> assigned = { 50, 100, 200, 400 };
    const std::vector<double> value = { 55, 110, 220, 440 };
    const Linearity line = linearityOf(assigned, value, { 5, std::nullopt }, LinearityAgainst::Line).value();
    EXPECT_NEAR(line.slope, 1.1, 1e-14);
    EXPECT_NEAR(line.intercept, 0, 1e-12);
    EXPECT_EQ(line.met, true);
    EXPECT_NEAR(line.levels[3].deviation, 0, 1e-11);
    const Linearity against = linearityOf(assigned, value, { 5, std::nullopt }, LinearityAgainst::Assigned).value();
    EXPECT_EQ(against.met, false);
    EXPECT_EQ(against.levels[3].deviation, 40);
    EXPECT_EQ(against.levels[3].allowed, 20);
    EXPECT_NEAR(against.levels[0].deviationPercent.value(), 10, 1e-12);
    EXPECT_EQ(linearityOf(assigned, value, { 10, std::nullopt }, LinearityAgainst::Assigned).value().met, true); // exactly on it
    EXPECT_EQ(linearityOf(assigned, value, { 5, 40.0 }, LinearityAgainst::Assigned).value().met, true);
    EXPECT_FALSE(linearityOf(assigned, value, {}, LinearityAgainst::Assigned).value().met);
}

TEST(Linearity, FindsTheOneLevelThatBends)
{
    const Linearity bent = linearityOf(std::vector<double> { 100, 200, 300, 400, 500 }, std::vector<double> { 100, 200, 300, 400, 450 },
        { 5, std::nullopt }, LinearityAgainst::Line)
                               .value();
    // Analytic: slope 0.9, intercept 20; at 500 the line is 470, at 100 it is 110.
    EXPECT_NEAR(bent.slope, 0.9, 1e-14);
    EXPECT_NEAR(bent.levels[4].deviation, -20, 1e-10);
    EXPECT_EQ(bent.levels[4].met, true);
    EXPECT_NEAR(bent.levels[0].deviation, -10, 1e-10);
    EXPECT_EQ(bent.levels[0].met, false);
    EXPECT_EQ(bent.met, false);
}

TEST(Linearity, MakesNoTestOutOfRounding)
{
    // On an exact line no coefficient is tested; on an exact parabola the curve is seen all the same.
    std::vector<double> assigned;
    std::vector<double> straight;
    std::vector<double> curved;
    for (int i = 1; i <= 6; ++i) {
        assigned.push_back(i * 50.0);
        straight.push_back(0.1 * i + 0.7);
        curved.push_back(i * 50.0 - 0.001 * i * i * 2500);
    }
    const Linearity line = linearityOf(assigned, straight, {}, LinearityAgainst::Line).value();
    EXPECT_FALSE(line.curvedOrder);
    EXPECT_FALSE(line.fits[1].tests[0].t);
    EXPECT_TRUE(linearityOf(assigned, curved, {}, LinearityAgainst::Line).value().curvedOrder);
}

TEST(Linearity, FitsOnlyTheOrdersThatTheLevelsBear)
{
    const Linearity three = linearityOf(std::vector<double> { 1, 2, 3 }, std::vector<double> { 1, 2.1, 3 }, {}, LinearityAgainst::Line)
                                .value();
    EXPECT_EQ(three.fits.size(), 1U);
    EXPECT_FALSE(three.repeatabilitySd);
    const Linearity replicated
        = linearityOf(std::vector<double> { 1, 2, 3, 3 }, std::vector<double> { 1, 2.1, 3, 3.2 }, {}, LinearityAgainst::Line).value();
    EXPECT_EQ(replicated.fits.size(), 2U);
    EXPECT_NEAR(replicated.repeatabilitySd.value(), std::sqrt(0.02), 1e-14);
}

TEST(Linearity, DoesNotDependOnOrderOrUnit)
{
    const reference::ReferenceTable table("accuracy/linearity_example.csv");
    const auto assigned = table.numbers("assigned");
    const auto measured = table.numbers("measured");
    const Linearity plain = linearityOf(assigned, measured, { 5, std::nullopt }, LinearityAgainst::Line).value();
    std::vector<std::size_t> order(assigned.size());
    std::iota(order.begin(), order.end(), 0U);
    std::mt19937 random(3);
    for (int repeat = 0; repeat < 20; ++repeat) {
        std::shuffle(order.begin(), order.end(), random);
        std::vector<double> x;
        std::vector<double> y;
        for (const std::size_t at : order) {
            x.push_back(assigned[at] / 18);
            y.push_back(measured[at] / 18);
        }
        const Linearity other = linearityOf(x, y, { 5, std::nullopt }, LinearityAgainst::Line).value();
        EXPECT_NEAR(other.slope, plain.slope, 1e-12);
        EXPECT_NEAR(other.fits[2].tests[1].t.value(), plain.fits[2].tests[1].t.value(), 1e-9);
        EXPECT_NEAR(other.levels[0].deviationPercent.value(), plain.levels[0].deviationPercent.value(), 1e-9);
        EXPECT_EQ(other.met, plain.met);
    }
}

TEST(Linearity, SaysWhatIsMissing)
{
    EXPECT_EQ(linearityFault({}, {}), "there is no value; give at least one");
    EXPECT_EQ(linearityFault({ 5, 5 }, { 5, 5 }), "there is only one level; linearity needs at least three, better five");
    EXPECT_EQ(linearityFault({ 5, 7 }, { 5, 5 }), "there are only two levels; linearity needs at least three, better five");
    EXPECT_EQ(linearityFault({ 5 }, { 5, 5 }), "assigned values and results differ in number; give each result its assigned value");
    EXPECT_EQ(linearityFault({ 1, 2, std::nan("") }, { 1, 2, 3 }), "assigned value 3 is not a finite number; correct it or leave it out");
    EXPECT_EQ(linearityFault({ 0, 2, 3 }, { 1, 2, 3 }, { 5, std::nullopt }),
        "a percentage of the assigned value 0 allows nothing; allow an absolute difference as well");
    EXPECT_EQ(linearityFault({ 0, 2, 3 }, { 1, 2, 3 }, { 5, 1.0 }), "");
    EXPECT_EQ(linearityFault({ 1, 2, 3 }, { 1, 2, 3 }, { -5, 1.0 }), "the allowed percentage must be 0 or more, such as 15");
    EXPECT_NE(linearityFault({ 1, 2, 3 }, { 1e308, -1e308, 1e308 }), "");
}

TEST(Linearity, RefusesALevelWhoseMeanIsNoNumber)
{
    // Twenty results near the end of the range: each is a number, their sum is none.
    std::vector<double> assigned, value;
    for (const double level : { 1.0, 2.0, 3.0 }) {
        for (int i = 0; i < 20; ++i) {
            assigned.push_back(level);
            value.push_back(level * 5e307 * (1 + 0.001 * i));
        }
    }
    EXPECT_FALSE(linearityOf(assigned, value, {}, LinearityAgainst::Line));
}

} // namespace mk::stats
