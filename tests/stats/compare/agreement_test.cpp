// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/agreement.h"

#include "stats/basics/distributions.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

namespace mk::stats {

namespace {

std::string agreementFault(const std::vector<double>& reference, const std::vector<double>& test, double confidence = 0.95)
{
    const auto found = agreement(reference, test, confidence);
    return found ? std::string() : found.error().text;
}

const std::vector<double> kAgreementReference = { 70, 95, 120, 180, 240 };
const std::vector<double> kAgreementTest = { 72, 94, 125, 178, 247 };

} // namespace

// Published figures: method_comparison_reference_test.cpp.
TEST(Agreement, IsTestMinusReference) // analytic: differences 2 -1 5 -2 7
{
    const auto found = agreement(kAgreementReference, kAgreementTest).value();
    EXPECT_EQ(found.n, 5U);
    EXPECT_DOUBLE_EQ(found.bias, 2.2);
    EXPECT_DOUBLE_EQ(found.sd.value(), std::sqrt(58.8 / 4));
    EXPECT_DOUBLE_EQ(found.lower.value(), 2.2 - 1.96 * std::sqrt(14.7));
    EXPECT_DOUBLE_EQ(found.upper.value(), 2.2 + 1.96 * std::sqrt(14.7));
    EXPECT_NEAR(found.biasCi->upper - 2.2, studentFactor(0.95, 4) * std::sqrt(14.7 / 5), 1e-12);
}

TEST(Agreement, GivesALimitTheErrorAskedFor)
{
    const auto full = agreement(kAgreementReference, kAgreementTest).value();
    const auto simple = agreement(kAgreementReference, kAgreementTest, 0.95, LimitError::Simple).value();
    const double z = normalFactor(0.95);
    EXPECT_DOUBLE_EQ(simple.limitError.value(), std::sqrt(14.7 * 3 / 5));
    EXPECT_DOUBLE_EQ(full.limitError.value(), std::sqrt(14.7 * (1.0 / 5 + z * z / 8)));
    EXPECT_EQ(full.lower, simple.lower);
    EXPECT_NEAR(full.lowerCi->upper - full.lowerCi->lower, 2 * studentFactor(0.95, 4) * full.limitError.value(), 1e-12);
}

TEST(Agreement, KeepsLimitsWhenTheConfidenceChanges)
{
    const auto wide = agreement(kAgreementReference, kAgreementTest, 0.99).value();
    const auto narrow = agreement(kAgreementReference, kAgreementTest, 0.9).value();
    EXPECT_EQ(wide.lower, narrow.lower);
    EXPECT_LT(wide.lowerCi->lower, narrow.lowerCi->lower);
    EXPECT_GT(wide.biasCi->upper, narrow.biasCi->upper);
}

TEST(Agreement, KeepsItsDigitsFarFromZero) // analytic: differences 1 and 3 in turn, at any level
{
    std::vector<double> reference(10'001, 1e9);
    std::vector<double> test(10'001, 1e9 + 1);
    for (std::size_t i = 1; i < test.size(); i += 2)
        test[i] += 2;
    const auto found = agreement(reference, test).value();
    EXPECT_NEAR(found.bias, 1 + 2 * 5000.0 / 10001, 1e-14);
    EXPECT_NEAR(found.sd.value(), std::sqrt(4 * 5000.0 * 5001 / 10001 / 10000), 1e-13);
}

TEST(Agreement, AgreesWithLongDoubleOnManyPairs)
{
    std::mt19937 random(1);
    std::uniform_real_distribution<double> draw(40, 400);
    std::vector<double> reference(20'003);
    std::vector<double> test(20'003);
    std::ranges::generate(reference, [&] { return draw(random); });
    std::ranges::generate(test, [&] { return draw(random); });
    long double mean = 0;
    for (std::size_t i = 0; i < test.size(); ++i)
        mean += (static_cast<long double>(test[i]) - reference[i]) / 20'003;
    long double squares = 0;
    for (std::size_t i = 0; i < test.size(); ++i)
        squares += std::pow(static_cast<long double>(test[i]) - reference[i] - mean, 2.0L);
    const auto found = agreement(reference, test).value();
    EXPECT_NEAR(found.bias, static_cast<double>(mean), 1e-13);
    EXPECT_NEAR(found.sd.value(), static_cast<double>(std::sqrt(squares / 20'002)), 1e-12);
}

TEST(Agreement, TurnsWithTheColumnsAndMovesWithShiftAndScale)
{
    const auto found = agreement(kAgreementReference, kAgreementTest).value();
    const auto turned = agreement(kAgreementTest, kAgreementReference).value();
    EXPECT_DOUBLE_EQ(turned.bias, -found.bias);
    EXPECT_DOUBLE_EQ(turned.lower.value(), -found.upper.value());
    EXPECT_DOUBLE_EQ(turned.lowerCi->lower, -found.upperCi->upper);
    std::vector<double> test = kAgreementTest;
    for (double& one : test)
        one = 8 * one + 5;
    std::vector<double> reference = kAgreementReference;
    for (double& one : reference)
        one *= 8;
    const auto moved = agreement(reference, test).value();
    EXPECT_DOUBLE_EQ(moved.bias, 8 * found.bias + 5);
    EXPECT_DOUBLE_EQ(moved.sd.value(), 8 * found.sd.value());
}

TEST(Agreement, OfOnePairIsItsDifference)
{
    const auto found = agreement(std::vector<double> { 100 }, std::vector<double> { 97 }).value();
    EXPECT_EQ(found.bias, -3);
    EXPECT_FALSE(found.sd || found.lower || found.upper || found.biasCi || found.lowerCi || found.upperCi);
}

TEST(Agreement, OfEqualDifferencesHasNoWidth)
{
    const auto found = agreement(std::vector<double> { 1, 2, 3 }, std::vector<double> { 2, 3, 4 }).value();
    EXPECT_EQ(found.sd.value(), 0);
    EXPECT_EQ(found.lower.value(), 1);
    EXPECT_EQ(found.upperCi->upper, 1);
}

TEST(Agreement, SaysWhatIsWrongWithTheInput)
{
    const double infinity = std::numeric_limits<double>::infinity();
    EXPECT_EQ(agreementFault({}, {}), "there are 0 pairs; give at least 1");
    EXPECT_EQ(agreementFault({ 1, 2 }, { 1 }), "the columns have 2 and 1 numbers; give both numbers of every pair");
    EXPECT_NE(agreementFault({ 1, infinity }, { 1, 2 }).find("pair 2"), std::string::npos);
    EXPECT_NE(agreementFault({ 1, 2, 3 }, { std::nan(""), 2, 3 }).find("pair 1"), std::string::npos);
    EXPECT_NE(agreementFault({ 1, -1e200 }, { 1, 1e200 }).find("too far apart"), std::string::npos);
    EXPECT_NE(agreementFault({ -1.7e308 }, { 1.7e308 }).find("too far apart"), std::string::npos);
    EXPECT_NE(agreementFault({ 1 }, { 1 }, 1).find("confidence"), std::string::npos);
    EXPECT_NE(agreementFault({ 1 }, { 1 }, std::nan("")).find("confidence"), std::string::npos);
}

} // namespace mk::stats
