// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/allowance.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace mk::stats {

TEST(Allowance, IsTheLargerOfPercentageAndDifference)
{
    const Allowance both { 15, 12.0 };
    EXPECT_EQ(allowedAt(both, 60), 12);
    EXPECT_EQ(allowedAt(both, 80), 12);
    EXPECT_EQ(allowedAt(both, 200), 30);
    EXPECT_EQ(allowedAt(both, -200), 30);
    EXPECT_EQ(allowedAt({ std::nullopt, 12.0 }, 200), 12);
    EXPECT_EQ(allowedAt({ 15, std::nullopt }, 200), 30);
}

TEST(Allowance, SaysNothingWhereItCannot)
{
    EXPECT_FALSE(allowedAt({}, 100));
    EXPECT_FALSE(allowedAt({ 15, std::nullopt }, 0));
    EXPECT_EQ(allowedAt({ 15, 0.5 }, 0), 0.5);
    EXPECT_FALSE(Allowance {}.given());
}

TEST(Allowance, CountsTheLimitItselfAsWithin)
{
    EXPECT_TRUE(withinAllowed(0.3, 0.1 * 3)); // and 0.1 * 3 is more than 0.3
    EXPECT_TRUE(withinAllowed(0.1 * 3, 0.3));
    EXPECT_TRUE(withinAllowed(-0.3, 0.3));
    EXPECT_FALSE(withinAllowed(0.3001, 0.3));
    EXPECT_TRUE(withinAllowed(0, 0));
    EXPECT_FALSE(withinAllowed(1e-12, 0));
}

TEST(Allowance, RefusesLimitsBelowZero)
{
    EXPECT_TRUE(checkAllowance({ 0, 0.0 }));
    EXPECT_FALSE(checkAllowance({ -1, std::nullopt }));
    EXPECT_FALSE(checkAllowance({ std::nullopt, -1 }));
    EXPECT_FALSE(checkAllowance({ std::nan(""), std::nullopt }));
    EXPECT_FALSE(checkAllowance({ std::nullopt, std::numeric_limits<double>::infinity() }));
}

} // namespace mk::stats
