// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::ReturnStep stepBy(const DeskWard& ward, const char* person, ReturnStepKind kind, std::optional<std::string> detail = std::nullopt)
{
    return { ward.facts.now, base::MeterId("M1"), base::OperatorId(person), kind, std::move(detail) };
}

/// Two low controls beyond +2 SD on two days: 2-2s; then a good set.
void shiftAndPass(DeskWard& ward)
{
    ward.facts.policy = policyFrom(PolicyPairs { { "profile", "older" } }).value();
    ward.runSet("one", "66.6", "300");
    ward.goTo("2026-05-05T08:00");
    ward.runSet("two", "66.6", "300");
    ward.goTo("2026-05-05T08:20");
    ward.runSet("three", "60", "300");
}

TEST(AReturnAfterAShift, WantsMoreThanAGoodSetAndANurse)
{
    DeskWard ward;
    shiftAndPass(ward);
    EXPECT_EQ(ward.state(), MeterState::OnHold);
    EXPECT_EQ(ward.faultOf(stepBy(ward, "N1", ReturnStepKind::Signed)), FaultKind::Refused);
    EXPECT_EQ(ward.faultOf(stepBy(ward, "N1", ReturnStepKind::GroupChecked)), FaultKind::Refused) << "a policy that knows no group";
    EXPECT_EQ(ward.faultOf(stepBy(ward, "N1", ReturnStepKind::LotChecked)), FaultKind::Refused);

    acts::ControlRun other = ward.run("of-M2", Level::Low, "90");
    other.meter = base::MeterId("M2");
    ward.record(other);
    ward.record(stepBy(ward, "N1", ReturnStepKind::LotChecked)); // another meter on the same vials was rejected too
    ward.record(stepBy(ward, "N1", ReturnStepKind::Signed));
    EXPECT_EQ(ward.state(), MeterState::InService);
}

TEST(AReturnAfterAShift, MayShowTheMeterOnAnotherLot)
{
    DeskWard ward;
    acts::StripLotReceived lot = Materials().stripLot.lot;
    lot.lot = base::StripLotId("S2");
    ward.facts.put(lot);
    ward.facts.put(acts::LotEvent { ward.facts.now, "S2", base::OperatorId("C1"), LotEventKind::Released, {}, {} });
    ward.facts.put(acts::StripVialOpened { base::StripVialId("X1"), base::StripLotId("S2"), ward.facts.now, base::WardId("W1"), {} });
    for (acts::RangeAssigned range : { Materials().lowRange.act, Materials().highRange.act }) {
        range.stripLot = base::StripLotId("S2");
        ward.facts.put(range);
    }
    shiftAndPass(ward);
    EXPECT_EQ(ward.faultOf(stepBy(ward, "N1", ReturnStepKind::LotChecked)), FaultKind::Refused);
    ward.goTo("2026-05-05T08:30");
    acts::ControlRun low = ward.run("four", Level::Low, "60"), high = ward.run("four", Level::High, "300");
    low.stripVial = high.stripVial = base::StripVialId("X1");
    ASSERT_TRUE(ward.tryBatch({ low, high }));
    ASSERT_EQ(ward.verdict("four"), Verdict::Accepted);
    ward.record(stepBy(ward, "N1", ReturnStepKind::LotChecked));
}

/// Withdrawn, with two good sets since and a look-back that waits. returns  the look-back's entry
base::Seq withdrawAndPass(DeskWard& ward)
{
    ward.facts.put(acts::MeterStopped { base::MeterId("M1"), ward.facts.now, true, "ladder-exhausted", { 1 }, true, "policy 1" });
    const base::Seq opened = ward.facts.put(acts::LookbackOpened {
        base::MeterId("M1"), ward.facts.now, at("2026-05-03T08:00"), ward.facts.now, "ladder-exhausted", { 1 }, {}, {}, {}, {} });
    ward.goTo("2026-05-04T09:00");
    ward.runSet("one", "60", "300");
    ward.goTo("2026-05-04T10:00");
    ward.runSet("two", "60", "300");
    return opened;
}

TEST(AWithdrawnMeter, ComesBackWhenItsLookbackIsSomebodysAndItsCauseIsSaid)
{
    DeskWard ward;
    const base::Seq opened = withdrawAndPass(ward);
    const auto signature = stepBy(ward, "C1", ReturnStepKind::Signed, "worn strip port, cleaned by the workshop");
    EXPECT_EQ(ward.faultOf(signature), FaultKind::Refused);
    acts::LookbackAssigned assigned { ward.facts.now, base::OperatorId("C1"), opened, " ", base::parseDate("2026-05-03").value() };
    EXPECT_EQ(ward.codeOf(assigned), "lookback-for-nobody");
    assigned.decides = "Dr Marsh";
    EXPECT_EQ(ward.codeOf(assigned), "lookback-due-past");
    assigned.until = base::parseDate("2026-05-04").value();
    ward.record(assigned);
    EXPECT_EQ(ward.faultOf(stepBy(ward, "C1", ReturnStepKind::Signed)), FaultKind::Refused) << "no cause";
    ward.record(signature);
    EXPECT_EQ(ward.state(), MeterState::InService);
}

TEST(AWithdrawnMeter, GoesToReserveOnTheSameEvidence)
{
    DeskWard ward;
    const base::Seq opened = withdrawAndPass(ward);
    acts::MeterMoved move;
    move.at = ward.facts.now;
    move.meter = base::MeterId("M1");
    move.by = base::OperatorId("C1");
    move.toState = MeterState::Reserve;
    move.reason = "worn strip port, cleaned by the workshop";
    EXPECT_EQ(ward.faultOf(move), FaultKind::Refused);
    ward.record(
        acts::LookbackAssigned { ward.facts.now, base::OperatorId("C1"), opened, "Dr Marsh", base::parseDate("2026-05-11").value() });
    ward.record(move);
    EXPECT_EQ(ward.state(), MeterState::Reserve);
    EXPECT_TRUE(ward.openStops().empty());
}

} // namespace
} // namespace mk::registry::sample
