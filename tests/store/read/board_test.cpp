// SPDX-License-Identifier: GPL-3.0-or-later
// A policy that is adopted and not yet in force: until when a meter may be used looks ahead to it.
#include "store/store_desk.h"

#include <gtest/gtest.h>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

/// M1 ran on V2 at 07:00 and on V1 at 08:00; then V1 is empty, and V2 is what stands open. From midnight on each meter is asked for a
/// control of every vial.
struct EveryMeterFromTomorrow {
    StoreDesk desk;
    explicit EveryMeterFromTomorrow(bool ranOnV2)
    {
        desk.record(acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S1"), desk.now(), base::WardId("W1") });
        if (ranOnV2)
            runOnV2();
        desk.runSet("on-v1", "2026-05-04T08:00", "60", "300");
        desk.goTo("2026-05-04T08:30");
        desk.record(acts::VialEnded { desk.now(), "V1", base::OperatorId("N1"), VialEndKind::Empty });
        desk.record(sample::adoption(desk.at("2026-05-05T00:00"), { { "new_strip_vial", "every-meter" } }));
    }

private:
    void runOnV2()
    {
        for (const Level level : { Level::Low, Level::High }) {
            const bool low = level == Level::Low;
            const char* const time = low ? "2026-05-04T07:00" : "2026-05-04T07:02";
            desk.goTo(time);
            auto run = desk.aRun("on-v2", time, level, low ? "61" : "301");
            run.stripVial = base::StripVialId("V2");
            desk.record(run);
        }
    }
};

} // namespace

TEST(Board, AVialThatTheMeterWasControlledOnServesUnderTomorrowsPolicyToo)
{
    EveryMeterFromTomorrow ward(true);
    const Fitness fitness = ward.desk.fitness("2026-05-04T09:00");
    EXPECT_TRUE(fitness.usable);
    ASSERT_TRUE(fitness.until);
    EXPECT_GT(*fitness.until, ward.desk.at("2026-05-05T00:00")) << "V2 was controlled before the newest set";
    EXPECT_TRUE(ward.desk.fitness("2026-05-05T00:00").usable) << "as it turns out";
}

TEST(Board, AVialThatTheMeterWasNotControlledOnEndsItsUseWhenTomorrowsPolicyComes)
{
    EveryMeterFromTomorrow ward(false);
    const Fitness fitness = ward.desk.fitness("2026-05-04T09:00");
    EXPECT_TRUE(fitness.usable);
    ASSERT_TRUE(fitness.until);
    EXPECT_EQ(*fitness.until, ward.desk.at("2026-05-05T00:00"));
    EXPECT_FALSE(ward.desk.fitness("2026-05-05T00:00").usable) << "as it turns out";
}

} // namespace mk::store
