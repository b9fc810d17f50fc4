// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/straight_line.h"

#include <gtest/gtest.h>

namespace mk::stats {

TEST(StraightLine, TellsItsValue)
{
    EXPECT_EQ((StraightLine { 2, 3 }.at(0)), 3);
    EXPECT_EQ((StraightLine { 2, 3 }.at(-5)), -7);
}

TEST(LineUncertainty, GrowsAwayFromItsCentre) // analytic: variance 4 + 2 * 1 d + 0.25 d², d the distance from 10
{
    const LineUncertainty error { 10, 0.25, 4, 1, 5 };
    EXPECT_EQ(error.slopeError(), 0.5);
    EXPECT_EQ(error.errorAt(10), 2);
    EXPECT_EQ(error.errorAt(12), 3); // 4 + 4 + 1
    EXPECT_EQ(error.errorAt(6), 0);  // 4 - 8 + 4: value and slope are one error
    const LineUncertainty rounded { 10, 0.25, 4 - 1e-15, 1, 5 };
    EXPECT_EQ(rounded.errorAt(6), 0);
}

} // namespace mk::stats
