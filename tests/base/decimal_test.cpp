// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/decimal.h"

#include <gtest/gtest.h>

namespace mk::base {

namespace {

Decimal decimalOf(const char* typed)
{
    return Decimal::parse(typed).value();
}

} // namespace

TEST(Decimal, KeepsItsTextAndItsExactValue)
{
    const Decimal decimal = decimalOf("6.20");
    EXPECT_EQ(decimal.typed(), "6.20");
    EXPECT_EQ(decimal.mantissa(), 620);
    EXPECT_EQ(decimal.decimals(), 2);
    EXPECT_EQ(decimal.toDouble(), 6.2);
    EXPECT_EQ(decimalOf("-0.3").mantissa(), -3);
    EXPECT_EQ(decimalOf("007").mantissa(), 7);
    EXPECT_EQ(Decimal().typed(), "0");
}

TEST(Decimal, ComparesByValueNotByText)
{
    EXPECT_EQ(decimalOf("6.20"), decimalOf("6.2"));
    EXPECT_EQ(decimalOf("-0.0"), decimalOf("0"));
    EXPECT_LT(decimalOf("6.19"), decimalOf("6.2"));
    EXPECT_LT(decimalOf("-6.2"), decimalOf("-6.19"));
    EXPECT_GT(decimalOf("10"), decimalOf("9.999999999"));
    EXPECT_GT(decimalOf("999999999999999"), decimalOf("0.000000001"));
}

TEST(Decimal, GivesTheDoubleNearestToTheText)
{
    for (const char* typed : { "0.1", "5.6", "123456.789", "0.000000001", "999999999999999", "-17.3" })
        EXPECT_EQ(decimalOf(typed).toDouble(), std::stod(typed)) << typed;
}

TEST(Decimal, HoldsFifteenDigitsAndNineDecimals)
{
    EXPECT_TRUE(Decimal::parse("123456.789012345"));
    EXPECT_TRUE(Decimal::parse("0000000000000000005.6"));
    EXPECT_FALSE(Decimal::parse("1234567890123456"));
    EXPECT_FALSE(Decimal::parse("0.1234567890"));
}

TEST(Decimal, RefusesEverythingButDigitsAndOnePoint)
{
    for (const char* typed : { "", "-", ".", ".5", "5.", "+5", "5,6", "1e3", " 5", "5 ", "--5", "5.6.7", "HI", "nan", "0x1" }) {
        const auto decimal = Decimal::parse(typed);
        ASSERT_FALSE(decimal) << typed;
        EXPECT_EQ(decimal.error().kind, FaultKind::BadInput);
        EXPECT_NE(decimal.error().text.find('\'' + std::string(typed) + '\''), std::string::npos);
    }
}

} // namespace mk::base
