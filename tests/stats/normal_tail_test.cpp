// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/normal_tail.h"

#include "../reference/reference_table.h"

#include <gtest/gtest.h>

#include <limits>

namespace mk::stats {

TEST(NormalTail, MeetsTheTable)
{
    // Analytic: statistics/quantiles.csv.
    const reference::ReferenceTable table("statistics/quantiles.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        if (table.text(row, "function") == "normal quantile") {
            EXPECT_NEAR(normalAbove(-table.number(row, "value")), table.number(row, "argument"), 1e-9);
        }
        if (table.text(row, "function") == "normal two-sided tail 2*Phi(-k)") {
            EXPECT_NEAR(2 * normalAbove(table.number(row, "argument")), table.number(row, "value"), 1e-9);
        }
    }
}

TEST(NormalTail, KeepsItsDigitsFarOut)
{
    // Analytic: Phi(-10) = 7.6198530241605e-24 (Abramowitz & Stegun 26.2, from memory); the density falls by phi(10.1) / phi(10) =
    // exp(-1.005).
    EXPECT_NEAR(normalAbove(10) / 7.6198530241605e-24, 1, 1e-12);
    EXPECT_NEAR(normalDensity(10.1) / normalDensity(10) / 0.36604463, 1, 1e-7);
    EXPECT_GT(normalBetween(20, 20.1), 0);
    EXPECT_EQ(normalBetween(-20.1, -20), normalBetween(20, 20.1));
}

TEST(NormalTail, SplitsIntoPartsThatAddUp)
{
    const double infinity = std::numeric_limits<double>::infinity();
    EXPECT_EQ(normalBetween(-infinity, infinity), 1);
    EXPECT_NEAR(normalBetween(-infinity, -1) + normalBetween(-1, 0.5) + normalBetween(0.5, infinity), 1, 1e-15);
}

} // namespace mk::stats
