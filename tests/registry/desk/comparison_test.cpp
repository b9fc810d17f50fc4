// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

TEST(AComparison, OutOnceWarnsAndOutAgainWithdraws)
{
    DeskWard ward;
    ward.record(ward.pair("P1", "160", "100"));
    ASSERT_EQ(ward.facts.all<acts::PairJudged>().back().act.outcome, PairOutcome::Outside);
    EXPECT_TRUE(ward.openStops().empty());
    ward.goTo("2026-05-05T08:00");
    ward.record(ward.pair("P2", "161", "100"));
    ASSERT_EQ(ward.openStops().size(), 1U);
    const acts::MeterStopped stopped = ward.openStops().front().stop;
    EXPECT_EQ(stopped.cause, "comparison-failed");
    EXPECT_TRUE(stopped.withdrawn);
    EXPECT_EQ(stopped.because, ward.facts.all<acts::PairJudged>().back().seq);
    EXPECT_EQ(stopped.at, ward.facts.now) << "from when it could be known";
}

TEST(AComparison, InsideBetweenTwoOutsideStopsNothing)
{
    DeskWard ward;
    ward.record(ward.pair("P1", "160", "100"));
    ward.goTo("2026-05-05T08:00");
    ward.record(ward.pair("P2", "100", "100"));
    ward.goTo("2026-05-06T08:00");
    ward.record(ward.pair("P3", "160", "100"));
    EXPECT_TRUE(ward.openStops().empty());
}

} // namespace
} // namespace mk::registry::sample
