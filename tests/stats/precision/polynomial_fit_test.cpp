// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/polynomial_fit.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

constexpr double kPolyInf = std::numeric_limits<double>::infinity();

/// The certified value of a parameter of a NIST data set.
double nistLinear(const std::string& dataset, const std::string& parameter)
{
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "dataset") == "nist_linear_" + dataset && expected.text(row, "parameter") == parameter)
            return expected.number(row, "certified");
    }
    ADD_FAILURE() << dataset << ' ' << parameter << " is not in the reference";
    return 0;
}

double linearityExpected(const std::string& dataset, int order, const std::string& parameter)
{
    const reference::ReferenceTable expected("accuracy/linearity_expected.csv");
    const std::string step = "order " + std::to_string(order) + " polynomial";
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "dataset") == dataset && expected.text(row, "step") == step && expected.text(row, "parameter") == parameter)
            return expected.number(row, "expected");
    }
    ADD_FAILURE() << dataset << ' ' << parameter << " is not in the reference";
    return 0;
}

void expectDigits(double actual, double expected, double digits, const char* what)
{
    EXPECT_LE(std::abs(actual - expected), std::abs(expected) * std::pow(10, -digits)) << what << ' ' << actual << " for " << expected;
}

std::string polyFault(std::vector<double> x, std::vector<double> y, int order)
{
    const auto fit = fitPolynomial(x, y, order);
    return fit ? std::string() : fit.error().text;
}

} // namespace

// Certified by NIST StRD; the data and figures of tests/reference/accuracy.
TEST(PolynomialFitNist, ReachesTwelveDigitsOnNorris)
{
    const reference::ReferenceTable data("accuracy/nist_linear_Norris.csv");
    const auto fit = fitPolynomial(data.numbers("x"), data.numbers("y"), 1).value();
    expectDigits(fit.coefficients[0], nistLinear("Norris", "intercept"), 12, "intercept");
    expectDigits(fit.coefficients[1], nistLinear("Norris", "slope"), 13, "slope");
    expectDigits(fit.standardErrors[0], nistLinear("Norris", "intercept_se"), 12, "intercept SE");
    expectDigits(fit.standardErrors[1], nistLinear("Norris", "slope_se"), 12, "slope SE");
    expectDigits(fit.residualSd, nistLinear("Norris", "residual_sd"), 12, "residual SD");
    expectDigits(fit.rSquared.value(), nistLinear("Norris", "R_squared"), 14, "r squared");
}

TEST(PolynomialFitNist, ReachesElevenDigitsOnPontius)
{
    const reference::ReferenceTable data("accuracy/nist_linear_Pontius.csv");
    const auto fit = fitPolynomial(data.numbers("x"), data.numbers("y"), 2).value();
    for (std::size_t i = 0; i < 3; ++i) {
        const std::string name = "B" + std::to_string(i);
        expectDigits(fit.coefficients[i], nistLinear("Pontius", name), 11, name.c_str());
        expectDigits(fit.standardErrors[i], nistLinear("Pontius", name + "_se"), 11, name.c_str());
    }
    expectDigits(fit.residualSd, nistLinear("Pontius", "residual_sd"), 11, "residual SD");
}

// Made and computed with 50 digits for tests/reference/accuracy/linearity_expected.csv.
class PolynomialFitLinearity : public testing::TestWithParam<std::tuple<const char*, int>> { };

TEST_P(PolynomialFitLinearity, AgreesWithFiftyDigits)
{
    const auto [dataset, order] = GetParam();
    const reference::ReferenceTable data(std::string("accuracy/") + dataset + ".csv");
    const auto fit = fitPolynomial(data.numbers("assigned"), data.numbers("measured"), order).value();
    for (int i = 0; i <= order; ++i) {
        const std::string name = "b" + std::to_string(i);
        const auto at = static_cast<std::size_t>(i);
        expectDigits(fit.coefficients[at], linearityExpected(dataset, order, name), 9, name.c_str());
        expectDigits(fit.standardErrors[at], linearityExpected(dataset, order, "se_" + name), 9, name.c_str());
    }
    expectDigits(fit.residualSd, linearityExpected(dataset, order, "residual_sd"), 9, "residual SD");
    EXPECT_EQ(static_cast<double>(fit.df), linearityExpected(dataset, order, "df"));
}

INSTANTIATE_TEST_SUITE_P(Examples, PolynomialFitLinearity,
    testing::Combine(testing::Values("linearity_example", "linearity_example_linear"), testing::Values(1, 2, 3)));

TEST(PolynomialFit, FindsAPolynomialAgain) // analytic
{
    const std::vector<double> x = { -2, -1, 0, 1, 2, 3, 5 };
    std::vector<double> y;
    for (const double one : x)
        y.push_back(1 - 2 * one + 0.5 * one * one + 0.25 * one * one * one);
    const auto fit = fitPolynomial(x, y, 3).value();
    EXPECT_NEAR(fit.coefficients[0], 1, 1e-14);
    EXPECT_NEAR(fit.coefficients[1], -2, 1e-14);
    EXPECT_NEAR(fit.coefficients[2], 0.5, 1e-14);
    EXPECT_NEAR(fit.coefficients[3], 0.25, 1e-14);
    EXPECT_NEAR(fit.residualSd, 0, 1e-14);
    EXPECT_EQ(fit.df, 3U);
    EXPECT_NEAR(fit.rSquared.value(), 1, 1e-14);
}

TEST(PolynomialFit, GoesWithTheScaleAndWithoutTheOrderOfThePoints)
{
    std::mt19937 random(4);
    std::uniform_real_distribution<double> draw(20, 500);
    std::vector<double> x(30);
    std::vector<double> y(30);
    std::ranges::generate(x, [&] { return draw(random); });
    std::ranges::generate(y, [&] { return draw(random); });
    for (int order = 1; order <= 3; ++order) {
        const auto fit = fitPolynomial(x, y, order).value();
        std::vector<double> scaledX(x.rbegin(), x.rend());
        std::vector<double> scaledY(y.rbegin(), y.rend());
        std::ranges::transform(scaledX, scaledX.begin(), [](double one) { return one / 16; });
        std::ranges::transform(scaledY, scaledY.begin(), [](double one) { return one * 4; });
        const auto other = fitPolynomial(scaledX, scaledY, order).value();
        for (std::size_t i = 0; i < fit.coefficients.size(); ++i) {
            const double factor = 4 * std::pow(16, i);
            expectDigits(other.coefficients[i], fit.coefficients[i] * factor, 10, "coefficient");
            expectDigits(other.standardErrors[i], fit.standardErrors[i] * factor, 10, "standard error");
        }
        expectDigits(other.rSquared.value(), fit.rSquared.value(), 12, "r squared");
    }
}

TEST(PolynomialFit, HasNoCorrelationWithoutSpread)
{
    const auto fit = fitPolynomial(std::vector<double> { 1, 2, 3, 4 }, std::vector<double> { 7, 7, 7, 7 }, 1).value();
    EXPECT_DOUBLE_EQ(fit.coefficients[0], 7);
    EXPECT_DOUBLE_EQ(fit.coefficients[1], 0);
    EXPECT_FALSE(fit.rSquared.has_value());
}

TEST(PolynomialFit, SaysWhatIsWrongWithTheInput)
{
    EXPECT_EQ(polyFault({ 1, 2, 3, 4 }, { 1, 2, 3, 4 }, 0), "the order of the polynomial is 0; choose 1, 2 or 3");
    EXPECT_EQ(polyFault({ 1, 2, 3, 4 }, { 1, 2, 3, 4 }, 4), "the order of the polynomial is 4; choose 1, 2 or 3");
    EXPECT_EQ(polyFault({}, {}, 1), "there are 0 pairs; give at least 3");
    EXPECT_EQ(polyFault({ 1, 2 }, { 1, 2 }, 1), "there are 2 pairs; give at least 3");
    EXPECT_EQ(polyFault({ 1, 2, 3 }, { 1, 2 }, 1), "the columns have 3 and 2 numbers; give both numbers of every pair");
    EXPECT_NE(polyFault({ 1, 2, kPolyInf }, { 1, 2, 3 }, 1).find("pair 3"), std::string::npos);
    EXPECT_NE(polyFault({ 1, 2, 3 }, { 1, std::nan(""), 3 }, 1).find("pair 2"), std::string::npos);
    EXPECT_NE(polyFault({ 5, 5, 5, 5 }, { 1, 2, 3, 4 }, 1).find("at least 2 different x"), std::string::npos);
    EXPECT_NE(polyFault({ 0.1, 0.1, 0.3, 0.3, 0.3 }, { 1, 2, 3, 4, 5 }, 2).find("at least 3 different x"), std::string::npos);
    EXPECT_NE(polyFault({ 1, 2, 3, 3, 3, 1 }, { 1, 2, 3, 4, 5, 6 }, 3).find("at least 4 different x"), std::string::npos);
    EXPECT_NE(polyFault({ 0, 1e-300, 2e-300, 4e-300 }, { 0, 1e300, 0, 1e300 }, 1).find("too far apart"), std::string::npos);
}

TEST(PolynomialFit, BearsHugeValues)
{
    const auto fit = fitPolynomial(std::vector<double> { -1e308, 0, 1e308, 5e307 }, std::vector<double> { -1e308, 0, 1e308, 5e307 }, 1);
    ASSERT_TRUE(fit);
    EXPECT_NEAR(fit->coefficients[1], 1, 1e-14);
}

} // namespace mk::stats
