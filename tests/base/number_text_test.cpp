// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/number_text.h"

#include <gtest/gtest.h>

#include <clocale>
#include <limits>
#include <string>

namespace mk::base {

TEST(NumberText, KeepsSignificantDigits)
{
    EXPECT_EQ(significantText(1234.567891, 6), "1234.57");
    EXPECT_EQ(significantText(0.15, 6), "0.15");
    EXPECT_EQ(significantText(1e-9, 6), "1e-09");
    EXPECT_EQ(significantText(1234567, 6), "1.23457e+06");
    EXPECT_EQ(significantText(-0.0, 6), "0");
    EXPECT_EQ(significantText(1.4726965, 4), "1.473");
}

TEST(NumberText, KeepsDecimals)
{
    EXPECT_EQ(fixedText(2.5, 2), "2.50");
    EXPECT_EQ(fixedText(-15.046, 2), "-15.05");
    EXPECT_EQ(fixedText(std::numeric_limits<double>::max(), 2).size(), 309U + 3U);
}

// A Qt application sets the system's locale, after which printf writes 0,15 in half of the world.
TEST(NumberText, WritesAPointInEveryLocale)
{
    const std::string before = std::setlocale(LC_NUMERIC, nullptr);
    bool found = false;
    for (const char* name : { "de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8", "de_DE", "nl_NL.UTF-8", "sv_SE.UTF-8" })
        found = found || std::setlocale(LC_NUMERIC, name) != nullptr;
    const std::string significant = significantText(0.15, 6);
    const std::string fixed = fixedText(0.15, 2);
    std::setlocale(LC_NUMERIC, before.c_str());
    EXPECT_EQ(significant, "0.15");
    EXPECT_EQ(fixed, "0.15");
    if (!found)
        GTEST_SKIP() << "no locale with a decimal comma is installed here";
}

} // namespace mk::base
