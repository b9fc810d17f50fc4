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

TEST(ReleasingALot, ThatWasTakenOverNeedsNoEvidence)
{
    DeskWard ward;
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    lot.released.reset();
    ward.imported = true;
    ward.record(lot);
    ward.imported = false;
    EXPECT_EQ(ward.faultOf(event(ward, "S2", LotEventKind::Released, "C1")), std::nullopt);
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

} // namespace
} // namespace mk::registry::sample
