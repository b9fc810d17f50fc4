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

TEST(ALookback, IsDecidedWithEveryAnswerOrNotUsedAndReopened)
{
    DeskWard ward;
    const base::Seq opened = ward.facts.put(
        acts::LookbackOpened { base::MeterId("M1"), ward.facts.now, at("2026-05-03T08:00"), ward.facts.now, "wet", { 1 }, {}, {}, {}, {} });
    acts::LookbackReopened again { ward.facts.now, base::OperatorId("C1"), opened, "two more results came up" };
    EXPECT_EQ(ward.codeOf(again), "lookback-undecided");
    acts::LookbackClosed closing { ward.facts.now, base::OperatorId("C1"), opened, "no result in doubt" };
    closing.reviewed = decimal("4"), closing.doubtful = decimal("0"), closing.judgedBy = "Dr Marsh";
    EXPECT_EQ(ward.faultOf(closing), FaultKind::Refused) << "told or not?";
    closing.informed = YesNo::Yes;
    EXPECT_EQ(ward.faultOf(closing), FaultKind::BadInput) << "when?";
    closing.informedAt = at("2026-05-04T07:00");
    ward.record(closing);
    EXPECT_EQ(ward.codeOf(closing), "lookback-decided");
    ward.record(again);
    acts::LookbackClosed unused { ward.facts.now, base::OperatorId("C1"), opened, "it lay in the drawer" };
    unused.notUsedSays = "the ward sister";
    ward.record(unused);
}

TEST(ALookback, IsAskedForByTheCoordinatorWhereTheMeterWasInService)
{
    DeskWard ward;
    acts::LookbackAsked asked { ward.facts.now, base::OperatorId("N1"), base::MeterId("M1"), at("2026-05-02T08:00"), at("2026-05-03T08:00"),
        "technique", "technique of N2", {} };
    EXPECT_EQ(ward.faultOf(asked), FaultKind::Refused);
    asked.by = base::OperatorId("C1");
    acts::LookbackAsked early = asked;
    early.from = at("2026-03-01T08:00"), early.to = at("2026-03-02T08:00");
    EXPECT_EQ(ward.codeOf(early), "not-in-service-then");
    ward.record(asked);
    const auto lookbacks = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().act.cause, "technique");
}

TEST(ALookback, OpensWithAWithdrawalByHand)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    const base::Moment good = ward.facts.now;
    ward.goTo("2026-05-04T12:00");
    acts::MeterMoved move;
    move.at = ward.facts.now;
    move.meter = base::MeterId("M1");
    move.by = base::OperatorId("C1");
    move.toState = MeterState::Withdrawn;
    move.reason = "reads oddly";
    move.labelled = YesNo::Yes;
    ward.record(move);
    const auto lookbacks = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().act.cause, word(StopOnly::Movement));
    EXPECT_EQ(lookbacks.front().act.from, good);
    EXPECT_EQ(lookbacks.front().act.to, ward.facts.now);
}

TEST(ALookback, OpensWhereATechniqueWasSeenToBeWrong)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    const base::Moment good = ward.facts.now;
    ward.goTo("2026-05-04T12:00");
    acts::TechniqueChecked seen { ward.facts.now, base::MeterId("M1"), base::OperatorId("C1"), base::OperatorId("N1"), {}, {} };
    ward.record(seen);
    EXPECT_TRUE(ward.facts.all<acts::LookbackOpened>().empty()) << "nothing was wrong";
    seen.found = "control-mixed";
    const base::Seq observed = ward.record(seen);
    const auto lookbacks = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().act.cause, "technique");
    EXPECT_EQ(lookbacks.front().act.scope, "technique of N1");
    EXPECT_EQ(lookbacks.front().act.because, observed);
    EXPECT_EQ(lookbacks.front().act.from, good);
    EXPECT_EQ(lookbacks.front().act.to, ward.facts.now);
    seen.observed.reset();
    ward.goTo("2026-05-04T13:00");
    ward.record(seen);
    EXPECT_EQ(ward.facts.all<acts::LookbackOpened>().size(), 1U) << "the ladder's own first step opens none";
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
