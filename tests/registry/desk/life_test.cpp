// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

TEST(EnrollingAMeter, IsTheCoordinatorsAndEachSerialIsOneMeters)
{
    DeskWard ward;
    acts::MeterEnrolled meter { base::MeterId("M3"), base::ModelId("K1"), "SN-M1", base::WardId("W1"), ward.facts.now, {} };
    ward.author = "N1";
    EXPECT_EQ(ward.faultOf(meter), FaultKind::Refused);
    ward.author = "C1";
    EXPECT_EQ(ward.codeOf(meter), "serial-known");
    meter.serial = "SN-M3";
    EXPECT_EQ(ward.faultOf(meter), std::nullopt);
}

TEST(MovingAMeter, ToItsOwnWardIsASlip)
{
    DeskWard ward;
    acts::MeterMoved move;
    move.at = ward.facts.now;
    move.meter = base::MeterId("M1");
    move.by = base::OperatorId("N1");
    EXPECT_EQ(ward.faultOf(move), FaultKind::BadInput) << "neither state nor ward";
    move.toWard = base::WardId("W1");
    EXPECT_EQ(ward.faultOf(move), FaultKind::BadInput);
    move.toWard = base::WardId("W9");
    EXPECT_EQ(ward.faultOf(move), FaultKind::NotFound);
    move.toWard = base::WardId("W2");
    EXPECT_EQ(ward.faultOf(move), std::nullopt);
}

TEST(ClosingAnAccount, IsNobodysOwnAndEndsIt)
{
    DeskWard ward;
    acts::OperatorChanged change { ward.facts.now, base::OperatorId("C1"), base::OperatorId("C1"), {}, {}, YesNo::Yes };
    EXPECT_EQ(ward.codeOf(change), "own-account");
    change.person = base::OperatorId("N1");
    ward.record(change);
    acts::ReturnStep step { ward.facts.now, base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Inspected, {} };
    EXPECT_EQ(ward.codeOf(step), "account-closed");
}

TEST(APolicy, NeverHoldsForThePast)
{
    DeskWard ward;
    acts::PolicyChanged change;
    change.version = 2;
    change.settings = completePolicy({});
    EXPECT_EQ(ward.faultOf(change), FaultKind::BadInput) << "nobody adopts it";
    change.by = base::OperatorId("N1");
    change.from = base::plusMs(ward.facts.now, 60'000);
    EXPECT_EQ(ward.faultOf(change), FaultKind::Refused);
    change.by = base::OperatorId("C1");
    change.from = base::plusMs(ward.facts.now, -60'000);
    EXPECT_EQ(ward.faultOf(change), FaultKind::Refused);
    change.from = base::plusMs(ward.facts.now, 60'000);
    change.version = 3;
    EXPECT_EQ(ward.codeOf(change), "policy-version-overtaken");
}

TEST(ALookback, IsClosedOnceByTheCoordinator)
{
    DeskWard ward;
    const base::Seq opened = ward.facts.put(
        acts::LookbackOpened { base::MeterId("M1"), ward.facts.now, at("2026-05-03T08:00"), ward.facts.now, "wet", { 1 }, {}, {}, {}, {} });
    acts::LookbackClosed closing;
    closing.at = ward.facts.now;
    closing.by = base::OperatorId("N1");
    closing.entry = opened;
    EXPECT_EQ(ward.faultOf(closing), FaultKind::Refused);
    closing.by = base::OperatorId("C1");
    closing.entry = base::Seq { 1 };
    EXPECT_EQ(ward.faultOf(closing), FaultKind::NotFound);
}

TEST(ASignedMonth, IsOvertakenByWhatIsToldLater)
{
    DeskWard ward;
    acts::ReviewSigned review;
    review.at = at("2026-05-01T06:00");
    review.by = base::OperatorId("C1");
    review.month = "2026-05";
    const base::Seq seq = ward.facts.put(review, "C1");
    const base::Seq run = ward.record(ward.run("A", Level::Low, "60"));
    const auto overtaken = ward.facts.all<acts::ReviewOvertaken>();
    ASSERT_EQ(overtaken.size(), 1U);
    EXPECT_EQ(overtaken.front().act.review, seq);
    EXPECT_EQ(overtaken.front().act.because, run);
}

} // namespace
} // namespace mk::registry::sample
