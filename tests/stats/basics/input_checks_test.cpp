// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/input_checks.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

namespace mk::stats {

TEST(InputChecks, NameTheNumberThatIsNone)
{
    EXPECT_EQ(checkNumbers(std::vector<double> {}, Numbers::Values).error().text, "there is no value; give at least one");
    EXPECT_EQ(checkNumbers(std::vector<double> { 1, std::nan("") }, Numbers::Times).error().text,
        "time 2 is not a finite number; correct it or leave it out");
    EXPECT_TRUE(checkNumbers(std::vector<double> { 1e308, -1e308 }, Numbers::Values));
}

TEST(InputChecks, KnowAConfidence)
{
    EXPECT_TRUE(checkConfidence(0.95));
    for (const double odd : { 0.0, 1.0, 95.0, -0.5, std::nan(""), std::numeric_limits<double>::infinity() })
        EXPECT_FALSE(checkConfidence(odd)) << odd;
}

} // namespace mk::stats
