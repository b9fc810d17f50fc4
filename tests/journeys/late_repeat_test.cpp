// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

TEST(Journeys, AVialUsedLaterInASetIsNoReasonBeforeIt)
{
    WardWorld ward;
    ward.run("s", "2026-05-02T07:00", Level::Low, "60");
    // It stood open, and nobody knows since when: its period cannot be known.
    ward.record(acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S1"), {}, base::WardId("W1"), YesNo::Yes });
    ward.run("s", "2026-05-02T07:10", Level::High, "300", { .strip = "V2" });
    EXPECT_NE(reason(ward.fitness("2026-05-02T07:10"), "strip-vial-expired"), nullptr);
    EXPECT_EQ(codes(ward.fitness("2026-05-02T07:05")), "no-control-yet set-partial");
}

} // namespace mk::journeys
