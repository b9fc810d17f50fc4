// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::LotEvent event(const DeskWard& ward, const std::string& lot, LotEventKind what, const std::string& by)
{
    return { ward.facts.now, lot, base::OperatorId(by), what, {}, {} };
}

TEST(ReleasingALot, IsTheCoordinatorsAndNeedsItsEvidence)
{
    DeskWard ward;
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    lot.released.reset();
    ward.record(lot);
    EXPECT_EQ(ward.faultOf(event(ward, "S2", LotEventKind::Released, "N1")), FaultKind::Refused);
    EXPECT_EQ(ward.faultOf(event(ward, "S2", LotEventKind::Released, "C1")), FaultKind::Refused) << "nothing was verified";
    EXPECT_EQ(ward.faultOf(event(ward, "S1", LotEventKind::Released, "C1")), FaultKind::Conflict);
    EXPECT_EQ(ward.faultOf(event(ward, "S9", LotEventKind::Released, "C1")), FaultKind::NotFound);
}

TEST(ReleasingALot, ThatWasTakenOverNeedsItsEvidenceOrADocument)
{
    DeskWard ward;
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    lot.released.reset();
    ward.imported = true;
    ward.record(lot);
    ward.imported = false;
    acts::LotEvent release = event(ward, "S2", LotEventKind::Released, "C1");
    EXPECT_EQ(ward.codeOf(release), "lot-not-ready");
    release.releasedElsewhere = "Central laboratory, sheet 14";
    EXPECT_EQ(ward.codeOf(release), "");
}

TEST(ReleasingALot, IsNoPartOfItsReceipt)
{
    DeskWard ward;
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    lot.released = ward.facts.now;
    ward.author = "C1";
    EXPECT_EQ(ward.codeOf(lot), "release-of-its-own");
    ward.imported = true;
    EXPECT_EQ(ward.codeOf(lot), "") << "files carry it";
}

TEST(QuarantiningALot, AsksWhetherItsResultsAreInDoubt)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    const base::Moment first = ward.facts.now;
    ward.goTo("2026-05-05T08:00");
    acts::LotEvent stop = event(ward, "S1", LotEventKind::Quarantined, "N1");
    ward.author = "N1";
    EXPECT_EQ(ward.codeOf(stop), "lot-doubt-unsaid");
    stop.inDoubt = YesNo::Yes;
    const base::Seq seq = ward.record(stop);
    const auto opened = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(opened.size(), 1U) << "M2 never used it";
    EXPECT_EQ(opened.front().act.meter, base::MeterId("M1"));
    EXPECT_EQ(opened.front().act.scope, "strip lot S1");
    EXPECT_EQ(opened.front().act.from, first);
    EXPECT_EQ(opened.front().act.because, seq);
}

TEST(QuarantiningALot, IsFreeToAllButTheInspector)
{
    DeskWard ward;
    EXPECT_EQ(ward.faultOf(event(ward, "S1", LotEventKind::Quarantined, "I1")), FaultKind::Refused);
    EXPECT_EQ(ward.faultOf(event(ward, "S1", LotEventKind::Quarantined, "N1")), std::nullopt);
    acts::LotEvent release = event(ward, "S1", LotEventKind::Released, "C1");
    ward.goTo("2026-05-04T08:01");
    release.at = ward.facts.now;
    EXPECT_EQ(ward.faultOf(release), FaultKind::BadInput) << "say why it may be used again";
    release.detail = "The maker let it go.";
    EXPECT_EQ(ward.faultOf(release), std::nullopt);
}

TEST(AssigningARange, LeavesTargetsToTheCoordinator)
{
    DeskWard ward;
    acts::RangeAssigned range = Materials().lowRange.act;
    range.from = ward.facts.now;
    ward.author = "N1";
    EXPECT_EQ(ward.faultOf(range), FaultKind::Refused);
    ward.author = "C1";
    EXPECT_EQ(ward.faultOf(range), std::nullopt);
    range.from = base::plusMs(ward.facts.now, -1);
    range.level = Level::High;
    EXPECT_EQ(ward.faultOf(range), FaultKind::BadInput) << "the control lot is of another level";
}

acts::RangeAssigned wideRange(const DeskWard& ward)
{
    acts::RangeAssigned range = Materials().lowRange.act;
    range.mean.reset();
    range.sd.reset();
    range.stage.reset();
    range.low = base::Decimal::parse("30").value();
    range.high = base::Decimal::parse("130").value();
    range.from = base::plusMs(ward.facts.now, -24 * std::int64_t { 3'600'000 });
    return range;
}

acts::RangeConfirmed again(const DeskWard& ward, const acts::RangeAssigned& range, const char* by)
{
    return { ward.facts.now, base::OperatorId(by), range.stripLot, range.controlLot, range.level, range.low, range.high };
}

TEST(AssigningARange, RewritesNoVerdictThatWasGiven)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    ASSERT_EQ(ward.verdict("A"), Verdict::Rejected);
    ward.goTo("2026-05-04T09:00");
    ward.author = "C1";
    ward.record(wideRange(ward)); // dated before the failure
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "control-rejected" });
    ward.author.clear();
    ward.goTo("2026-05-04T10:00");
    ward.runSet("B", "90", "300");
    EXPECT_EQ(ward.verdict("B"), Verdict::Accepted) << "it judges later runs";
}

TEST(AssigningARange, ByANurseWaitsUntilASecondPersonTypedTheSame)
{
    DeskWard ward;
    ward.author = "N1";
    const acts::RangeAssigned range = wideRange(ward);
    ward.record(range);
    ward.author.clear();
    ward.goTo("2026-05-04T09:00");
    ward.runSet("A", "90", "300");
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected) << "the range before it holds";
    EXPECT_EQ(ward.faultOf(again(ward, range, "N1")), FaultKind::Refused);
    acts::RangeConfirmed other = again(ward, range, "N2");
    other.high = base::Decimal::parse("131").value();
    EXPECT_EQ(ward.faultOf(other), FaultKind::Refused);
    ward.goTo("2026-05-04T10:00");
    ward.record(again(ward, range, "N2"));
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
    ward.goTo("2026-05-04T11:00");
    ward.runSet("B", "90", "300");
    EXPECT_EQ(ward.verdict("B"), Verdict::Accepted);
}

TEST(AssigningARange, IsTypedAgainByWhoIsCompetentWithAnOpenAccount)
{
    DeskWard ward;
    ward.author = "N1";
    const acts::RangeAssigned range = wideRange(ward);
    ward.record(range);
    ward.author.clear();
    EXPECT_EQ(ward.codeOf(again(ward, range, "N4")), "second-not-competent");
    ward.record(acts::OperatorChanged { ward.facts.now, base::OperatorId("C1"), base::OperatorId("N3"), {}, {}, YesNo::Yes });
    EXPECT_EQ(ward.codeOf(again(ward, range, "N3")), "account-closed");
    EXPECT_EQ(ward.codeOf(again(ward, range, "C1")), "");
}

} // namespace
} // namespace mk::registry::sample
