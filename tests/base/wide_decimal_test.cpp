// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/wide_decimal.h"

#include <gtest/gtest.h>

#include <limits>
#include <random>

namespace mk::base {

TEST(WideDecimal, IsWrittenWithoutZerosAtTheEnd)
{
    EXPECT_EQ(toText(WideDecimal { 8325, 4 }), "0.8325");
    EXPECT_EQ(toText(WideDecimal { -15100, 3 }), "-15.1");
    EXPECT_EQ(toText(WideDecimal { 3000, 2 }), "30");
    EXPECT_EQ(toText(WideDecimal { 0, 3 }), "0");
    EXPECT_EQ(toFixedText(WideDecimal { 50, 1 }), "5.0");
    EXPECT_EQ(toFixedText(WideDecimal { -5, 2 }), "-0.05");
}

TEST(WideDecimal, HoldsMoreThanSixtyFourBits)
{
    const WideInt large = static_cast<WideInt>(999'999'999'999'999) * powerOfTen(12);
    EXPECT_EQ(toText(WideDecimal { large, 12 }), "999999999999999");
    EXPECT_TRUE(mantissaWith(WideDecimal { 999'999'999'999'999, 0 }, 12) == large);
}

TEST(RoundedQuotient, RoundsHalvesAwayFromZero)
{
    EXPECT_EQ(toFixedText(roundedQuotient(1, 4, 1)), "0.3"); // 0.25
    EXPECT_EQ(toFixedText(roundedQuotient(-1, 4, 1)), "-0.3");
    EXPECT_EQ(toFixedText(roundedQuotient(249, 1000, 1)), "0.2");
    EXPECT_EQ(toFixedText(roundedQuotient(7, 2, 0)), "4");
}

TEST(DecimalOf, IsTheDecimalThatWasTyped)
{
    std::mt19937_64 random(20261125);
    for (int i = 0; i < 20000; ++i) {
        const int decimals = static_cast<int>(random() % 10);
        const auto mantissa = static_cast<std::int64_t>(random() % 1'000'000'000ULL) % (powerOfTen(6) * powerOfTen(decimals));
        const std::string typed = toFixedText({ mantissa, decimals });
        const auto decimal = decimalOf(std::stod(typed));
        ASSERT_TRUE(decimal) << typed;
        EXPECT_EQ(toText(*decimal), toText(WideDecimal { mantissa, decimals })) << typed;
    }
}

TEST(DecimalOf, RoundsToNineDecimals)
{
    EXPECT_EQ(toText(decimalOf(5.550744243877529).value()), "5.550744244");
    EXPECT_EQ(toText(decimalOf(1e-12).value()), "0");
    EXPECT_EQ(toText(decimalOf(-0.1).value()), "-0.1");
}

TEST(DecimalOf, KnowsNothingOfNumbersThatNoMeterShows)
{
    EXPECT_FALSE(decimalOf(std::numeric_limits<double>::quiet_NaN()));
    EXPECT_FALSE(decimalOf(std::numeric_limits<double>::infinity()));
    EXPECT_FALSE(decimalOf(1000001));
    EXPECT_EQ(toText(decimalOf(1e6).value()), "1000000");
}

} // namespace mk::base
