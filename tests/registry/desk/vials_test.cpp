// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::StripVialOpened opening(const DeskWard& ward, const std::string& lot = "S1")
{
    return { base::StripVialId("V9"), base::StripLotId(lot), ward.facts.now, {}, {} };
}

acts::StripLotReceived freshLot()
{
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    lot.released.reset();
    return lot;
}

TEST(OpeningAVial, AsksForAReleasedLotInDate)
{
    DeskWard ward;
    EXPECT_EQ(ward.faultOf(opening(ward)), std::nullopt);
    ward.record(freshLot());
    acts::StripVialOpened other = opening(ward, "S2");
    other.vial = base::StripVialId("V10");
    EXPECT_EQ(ward.codeOf(other), "vial-of-unreleased-lot");
    other.lot = base::StripLotId("S3");
    EXPECT_EQ(ward.faultOf(other), FaultKind::NotFound);
    ward.imported = true; // stored as it comes
    other.lot = base::StripLotId("S2");
    EXPECT_EQ(ward.faultOf(other), std::nullopt);
}

TEST(OpeningAVial, OfAQuarantinedLotIsRefused)
{
    DeskWard ward;
    ward.record(acts::LotEvent { ward.facts.now, "S1", base::OperatorId("N1"), LotEventKind::Quarantined, {}, {} });
    EXPECT_EQ(ward.codeOf(opening(ward)), "vial-of-stopped-lot");
}

TEST(OpeningAVial, TwiceIsAConflict)
{
    DeskWard ward;
    acts::StripVialOpened again = opening(ward);
    again.vial = base::StripVialId("V1");
    EXPECT_EQ(ward.codeOf(again), "vial-opened-already");
}

TEST(OpeningAVial, NeedsItsTimeUnlessItWasFoundOpen)
{
    DeskWard ward;
    acts::StripVialOpened vial = opening(ward);
    vial.foundOpen = YesNo::Yes;
    EXPECT_EQ(ward.codeOf(vial), "found-open-with-time");
    vial.opened.reset();
    EXPECT_EQ(ward.faultOf(vial), std::nullopt);
    vial.vial = base::StripVialId("V10");
    vial.foundOpen.reset();
    EXPECT_EQ(ward.faultOf(vial), FaultKind::BadInput);
}

TEST(OpeningAVial, LongAgoIsEnteredByTheCoordinator)
{
    DeskWard ward;
    const acts::StripVialOpened vial = opening(ward);
    ward.goTo("2026-05-04T08:16");
    ward.author = "N1";
    EXPECT_EQ(ward.codeOf(vial), "opened-too-long-ago");
    ward.author = "C1";
    EXPECT_EQ(ward.faultOf(vial), std::nullopt);
}

TEST(EndingAVial, HappensOnceAndInspectorsEndNone)
{
    DeskWard ward;
    acts::VialEnded end { ward.facts.now, "V1", base::OperatorId("I1"), VialEndKind::Quarantined };
    EXPECT_EQ(ward.faultOf(end), FaultKind::Refused);
    end.by = base::OperatorId("N1");
    ward.record(end);
    ward.goTo("2026-05-04T08:05");
    end.at = ward.facts.now;
    EXPECT_EQ(ward.faultOf(end), FaultKind::Conflict);
    end.how = VialEndKind::Discarded; // what was set aside is thrown away
    EXPECT_EQ(ward.faultOf(end), std::nullopt);
}

TEST(EndingAVial, ToldLateJudgesTheRunsSinceAnew)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    ASSERT_EQ(ward.verdict("A"), Verdict::Accepted);
    const base::Moment before = base::plusMs(ward.facts.now, -60'000);
    ward.goTo("2026-05-04T09:00");
    const base::Seq end = ward.record(acts::VialEnded { before, "L1", base::OperatorId("N1"), VialEndKind::Empty });
    EXPECT_NE(ward.verdict("A"), Verdict::Accepted);
    const auto judged = ward.facts.all<acts::SetJudged>();
    ASSERT_EQ(judged.size(), 2U);
    EXPECT_EQ(judged.back().act.oldVerdict, Verdict::Accepted);
    EXPECT_EQ(judged.back().act.because, end);
}

} // namespace
} // namespace mk::registry::sample
