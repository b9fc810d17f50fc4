// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::ComparisonRecorded pairOf(const DeskWard& ward, const std::string& id, const std::string& meter, const std::string& lab)
{
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId(id);
    pair.meter = base::MeterId("M1");
    pair.meterAt = base::plusMs(ward.facts.now, -10 * 60'000);
    pair.labAt = base::plusMs(ward.facts.now, -6 * 60'000);
    pair.by = base::OperatorId("N1");
    pair.meterResult = parseReading(meter).value();
    pair.labResult = parseReading(lab).value();
    return pair;
}

TEST(AComparison, OutOnceWarnsAndOutAgainWithdraws)
{
    DeskWard ward;
    ward.record(pairOf(ward, "P1", "160", "100"));
    ASSERT_EQ(ward.facts.all<acts::PairJudged>().back().act.outcome, PairOutcome::Outside);
    EXPECT_TRUE(ward.openStops().empty());
    ward.goTo("2026-05-05T08:00");
    ward.record(pairOf(ward, "P2", "161", "100"));
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
    ward.record(pairOf(ward, "P1", "160", "100"));
    ward.goTo("2026-05-05T08:00");
    ward.record(pairOf(ward, "P2", "100", "100"));
    ward.goTo("2026-05-06T08:00");
    ward.record(pairOf(ward, "P3", "160", "100"));
    EXPECT_TRUE(ward.openStops().empty());
}

} // namespace
} // namespace mk::registry::sample
