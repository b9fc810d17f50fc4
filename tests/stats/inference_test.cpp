// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/inference.h"

#include "../reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace mk::stats {

TEST(Inference, MeetsTheTabulatedQuantiles)
{
    // From memory, as in any table: 1.959964, t(19) 2.093024, t(1) 12.7062; chi-square of 19 at 8.906516 and 32.85233 (reference README).
    EXPECT_NEAR(normalUpper(0.025), 1.959963984540054, 1e-12);
    EXPECT_NEAR(studentsUpper(0.025, 19), 2.093024, 5e-7);
    EXPECT_NEAR(studentsUpper(0.025, 1), 12.70620474, 5e-8);
    const Interval sd = sdInterval(1, 19, 0.95);
    EXPECT_NEAR(sd.lower, std::sqrt(19 / 32.85233), 1e-7);
    EXPECT_NEAR(sd.upper, std::sqrt(19 / 8.906516), 1e-7);
}

TEST(Inference, TellsTailsThatAreKnownInClosedForm)
{
    EXPECT_NEAR(studentsTwoSided(1, 1), 0.5, 1e-14); // Cauchy
    EXPECT_NEAR(studentsTwoSided(-1, 1), 0.5, 1e-14);
    EXPECT_NEAR(fisherUpper(2, 2, 4), std::pow(1 + 2 * 2 / 4.0, -2), 1e-14); // (1 + 2 f / m)^(-m/2)
    EXPECT_NEAR(fisherUpper(6.25, 1, 7), studentsTwoSided(2.5, 7), 1e-14); // F(1, n) is t(n) squared
}

TEST(Inference, NamesTheNumberThatIsNone)
{
    EXPECT_EQ(checkNumbers(std::vector<double> {}, "value").error().text, "there is no value; give at least one");
    EXPECT_EQ(checkNumbers(std::vector<double> { 1, std::nan("") }, "time").error().text,
        "time 2 is not a finite number; correct it or leave it out");
    EXPECT_TRUE(checkNumbers(std::vector<double> { 1e308, -1e308 }, "value"));
    for (const double odd : { 0.0, 1.0, -0.5, std::nan(""), std::numeric_limits<double>::infinity() })
        EXPECT_FALSE(checkConfidence(odd)) << odd;
}

} // namespace mk::stats
