// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/distributions.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace mk::stats {

TEST(Distributions, AgreeWithTheReference) // statistics/quantiles.csv, six to nine digits
{
    const reference::ReferenceTable table("statistics/quantiles.csv");
    std::size_t found = 0;
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double argument = table.number(row, "argument");
        const double value = table.number(row, "value");
        if (table.text(row, "function") == "normal quantile") {
            EXPECT_NEAR(normalFactor(2 * argument - 1), value, 1e-9);
            EXPECT_NEAR(normalAbove(-value), argument, 1e-9);
        } else if (table.text(row, "function") == "normal two-sided tail 2*Phi(-k)") {
            EXPECT_NEAR(2 * normalAbove(argument), value, 1e-9);
        } else if (table.text(row, "function") == "t quantile 0.975, df") {
            EXPECT_NEAR(studentFactor(0.95, argument), value, 1e-6);
        } else {
            continue;
        }
        ++found;
    }
    EXPECT_GT(found, 15U);
    EXPECT_NEAR(studentFactor(0.95, 16), 2.11990529922101, 1e-12); // accuracy/method_comparison_expected.csv
    EXPECT_NEAR(studentFactor(0.95, 1e9), normalFactor(0.95), 1e-8);
}

TEST(Distributions, MeetTheTabulatedQuantiles)
{
    // From memory, as in any table: 1.959964, t(19) 2.093024, t(1) 12.7062; chi-square of 19 at 8.906516 and 32.85233 (reference README).
    EXPECT_NEAR(normalFactor(0.95), 1.959963984540054, 1e-14);
    EXPECT_NEAR(studentFactor(0.95, 19), 2.093024, 5e-7);
    EXPECT_NEAR(studentFactor(0.95, 1), 12.70620474, 5e-8);
    const Interval sd = sdInterval(1, 19, 0.95);
    EXPECT_NEAR(sd.lower, std::sqrt(19 / 32.85233), 1e-7);
    EXPECT_NEAR(sd.upper, std::sqrt(19 / 8.906516), 1e-7);
}

TEST(Distributions, ReachToBothSidesOfAnEstimate)
{
    const Interval interval = studentInterval(10, 2, 19, 0.95);
    EXPECT_NEAR(interval.lower, 10 - 2 * 2.093024, 1e-6); // from memory, as above
    EXPECT_NEAR(interval.upper, 10 + 2 * 2.093024, 1e-6);
}

TEST(Distributions, TellTailsThatAreKnownInClosedForm)
{
    EXPECT_NEAR(studentTwoSided(1, 1), 0.5, 1e-14); // Cauchy
    EXPECT_NEAR(studentTwoSided(-1, 1), 0.5, 1e-14);
    EXPECT_NEAR(fisherAbove(2, 2, 4), std::pow(1 + 2 * 2 / 4.0, -2), 1e-14); // (1 + 2 f / m)^(-m/2)
    EXPECT_NEAR(fisherAbove(6.25, 1, 7), studentTwoSided(2.5, 7), 1e-14);    // F(1, n) is t(n) squared
}

TEST(Distributions, KeepTheirDigitsFarOut)
{
    // Analytic: Phi(-10) = 7.6198530241605e-24 (Abramowitz & Stegun 26.2, from memory); the density falls by phi(10.1) / phi(10) =
    // exp(-1.005).
    EXPECT_NEAR(normalAbove(10) / 7.6198530241605e-24, 1, 1e-12);
    EXPECT_NEAR(normalDensity(10.1) / normalDensity(10) / 0.36604463, 1, 1e-7);
    EXPECT_GT(normalBetween(20, 20.1), 0);
    EXPECT_EQ(normalBetween(-20.1, -20), normalBetween(20, 20.1));
}

TEST(Distributions, SplitIntoPartsThatAddUp)
{
    const double infinity = std::numeric_limits<double>::infinity();
    EXPECT_EQ(normalBetween(-infinity, infinity), 1);
    EXPECT_NEAR(normalBetween(-infinity, -1) + normalBetween(-1, 0.5) + normalBetween(0.5, infinity), 1, 1e-15);
}

} // namespace mk::stats
