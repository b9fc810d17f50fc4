// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/number_text.h"

#include <gtest/gtest.h>

#include <array>
#include <clocale>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
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
    const std::string folder = testing::TempDir() + "number_text_locales";
    std::filesystem::create_directories(folder);
    const std::string make = "localedef -i de_DE -f UTF-8 " + folder + "/de_DE.UTF-8 >/dev/null 2>&1";
    (void)std::system(make.c_str()); // it warns with a status of its own; what counts is that the locale is there
    const std::string before = std::setlocale(LC_NUMERIC, nullptr);
    setenv("LOCPATH", folder.c_str(), 1);
    const bool german = std::setlocale(LC_NUMERIC, "de_DE.UTF-8") != nullptr;
    std::array<char, 8> printed {};
    std::snprintf(printed.data(), printed.size(), "%.2f", 0.15);
    const std::string significant = significantText(0.15, 6);
    const std::string fixed = fixedText(0.15, 2);
    std::setlocale(LC_NUMERIC, before.c_str());
    unsetenv("LOCPATH");
    ASSERT_TRUE(german) << "install the package locales, from which this test makes a German locale";
    EXPECT_STREQ(printed.data(), "0,15"); // the locale is in force
    EXPECT_EQ(significant, "0.15");
    EXPECT_EQ(fixed, "0.15");
}

} // namespace mk::base
