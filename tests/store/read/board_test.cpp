// SPDX-License-Identifier: GPL-3.0-or-later
// A policy that is adopted and not yet in force: until when a meter may be used looks ahead to it.
#include "store/store_desk.h"

#include "store/read/board.h"

#include <gtest/gtest.h>

#include <algorithm>

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

TEST(Board, AnOpenNoticeIsSaidInEveryStateAndOfMetersEnrolledLater)
{
    StoreDesk desk;
    const base::OperatorId c1("C1");
    const auto named = [&](const char* meter, const base::Moment& at) {
        auto reader = desk.reader();
        const auto row = boardRow(reader, base::MeterId(meter), at);
        return row && std::ranges::any_of(row->fitness.reasons, [](const Reason& reason) {
            return reason.code == ReasonCode::FieldNotice && reason.blocks;
        });
    };
    desk.goTo("2026-05-04T08:00");
    acts::NoticeIssued notice { desk.now(), c1, "FSN-1", "reads high", {}, {}, {}, {}, {}, {}, {} };
    notice.model = base::ModelId("K1");
    desk.record(notice);
    desk.goTo("2026-05-04T09:00");
    desk.record(
        acts::MeterEnrolled { base::MeterId("M2"), base::ModelId("K1"), "serial-2", base::WardId("W1"), desk.now(), MeterState::Received });
    const base::Moment before = desk.now();
    EXPECT_TRUE(named("M1", before));
    EXPECT_TRUE(named("M2", before)) << "it was received after the notice";
    EXPECT_FALSE(named("M1", desk.at("2026-05-04T07:59")));
    desk.goTo("2026-05-04T10:00");
    desk.record(acts::NoticeItemDone { desk.now(), c1, "FSN-1", "M2", "software updated", {} });
    EXPECT_FALSE(named("M2", desk.now()));
    EXPECT_TRUE(named("M2", before)) << "not then";
    EXPECT_TRUE(named("M1", desk.now())) << "withdrawn for it";
}

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
