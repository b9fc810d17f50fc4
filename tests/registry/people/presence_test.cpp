// SPDX-License-Identifier: GPL-3.0-or-later
// SEC-02: automatic sign-off.
#include "registry/people/presence.h"

#include <gtest/gtest.h>

namespace mk::registry {

TEST(Presence, IsWarnedOfBeforeItEnds)
{
    EXPECT_EQ(presenceAfter(0, 5), Presence::Here);
    EXPECT_EQ(presenceAfter(5 * 60'000 - kWarnedBeforeMs - 1, 5), Presence::Here);
    EXPECT_EQ(presenceAfter(5 * 60'000 - kWarnedBeforeMs, 5), Presence::LeavesSoon);
    EXPECT_EQ(presenceAfter(5 * 60'000 - 1, 5), Presence::LeavesSoon);
    EXPECT_EQ(presenceAfter(5 * 60'000, 5), Presence::Gone);
    EXPECT_EQ(presenceAfter(5 * 60'000, 6), Presence::Here);
    EXPECT_EQ(presenceAfter(60'000, 1), Presence::Gone);
}

} // namespace mk::registry
