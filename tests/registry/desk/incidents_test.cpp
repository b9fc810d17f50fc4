// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

acts::IncidentReported incident(const DeskWard& ward, IncidentKind what)
{
    acts::IncidentReported act;
    act.at = ward.facts.now;
    act.meter = base::MeterId("M1");
    act.by = base::OperatorId("N1");
    act.what = what;
    return act;
}

TEST(AWrongUnit, LooksBackToTheLastProof)
{
    DeskWard ward;
    ward.runSet("A", "60", "300");
    const base::Moment proof = ward.facts.now;
    ward.goTo("2026-05-05T10:00");
    const base::Seq told = ward.record(incident(ward, IncidentKind::WrongUnit));
    const auto opened = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(opened.size(), 1U);
    EXPECT_EQ(opened.front().act.cause, "wrong-unit");
    EXPECT_EQ(opened.front().act.from, proof);
    EXPECT_EQ(opened.front().act.to, ward.facts.now);
    EXPECT_EQ(opened.front().act.because, told);
}

TEST(AFall, HoldsTheMeterAndEachKindHasItsOwnFields)
{
    DeskWard ward;
    acts::IncidentReported fall = incident(ward, IncidentKind::Dropped);
    fall.agent = "alcohol";
    EXPECT_EQ(ward.faultOf(fall), FaultKind::BadInput);
    fall.agent.reset();
    fall.noticedAt = base::plusMs(fall.at, -1);
    EXPECT_EQ(ward.faultOf(fall), FaultKind::BadInput) << "noticed before it happened";
    fall.noticedAt.reset();
    const base::Seq told = ward.record(fall);
    ASSERT_EQ(ward.openStops().size(), 1U);
    EXPECT_EQ(ward.openStops().front().stop.because, told);
    EXPECT_TRUE(ward.openStops().front().stop.needsSignature);
}

TEST(AnInspector, RecordsNothingStopsIncluded)
{
    DeskWard ward;
    acts::IncidentReported fall = incident(ward, IncidentKind::Dropped);
    fall.by = base::OperatorId("I1");
    EXPECT_EQ(ward.codeOf(fall), "inspector-records-nothing");
    acts::MeterMoved stop { ward.facts.now, base::MeterId("M1"), base::OperatorId("I1"), MeterState::OnHold, std::nullopt, "Looks odd." };
    EXPECT_EQ(ward.codeOf(stop), "inspector-records-nothing");
    acts::ControlRun run = ward.run("A", Level::Low, "60");
    run.by = base::OperatorId("I1");
    EXPECT_EQ(ward.codeOf(run), "inspector-records-nothing");
    EXPECT_EQ(
        ward.codeOf(acts::NoteAdded { ward.facts.now, base::OperatorId("I1"), base::MeterId("M1"), "Seen." }), "inspector-records-nothing");
    ward.author = "I1"; // enters it, whoever is named
    EXPECT_EQ(ward.codeOf(incident(ward, IncidentKind::Dropped)), "inspector-records-nothing");
    EXPECT_TRUE(ward.openStops().empty());
    ward.author = "N1";
    EXPECT_EQ(ward.codeOf(incident(ward, IncidentKind::Dropped)), "");
}

TEST(ACleaning, WhoseContactTimeWasNotKeptIsNoCleaning)
{
    DeskWard ward;
    acts::IncidentReported cleaned = incident(ward, IncidentKind::Cleaned);
    cleaned.contactTimeKept = YesNo::No;
    EXPECT_EQ(ward.faultOf(cleaned), FaultKind::Refused);
    ward.imported = true;
    EXPECT_EQ(ward.faultOf(cleaned), std::nullopt);
}

TEST(AFoundMeter, IsWithdrawnOnlyWhereItWasMissing)
{
    DeskWard ward;
    ward.record(incident(ward, IncidentKind::Found));
    EXPECT_TRUE(ward.openStops().empty());
    acts::MeterMoved lost { ward.facts.now, base::MeterId("M1"), base::OperatorId("C1"), MeterState::Missing, std::nullopt,
        "Not in its place." };
    ward.record(lost);
    ASSERT_EQ(ward.state(), MeterState::Missing);
    ward.facts.now = base::plusMs(ward.facts.now, 60'000);
    ward.record(incident(ward, IncidentKind::Found));
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "found" });
    EXPECT_EQ(ward.state(), MeterState::Withdrawn);
}

TEST(AMeterNotInUse, MayBeDeclaredAhead)
{
    DeskWard ward;
    acts::IncidentReported unused = incident(ward, IncidentKind::NotInUse);
    unused.at = base::plusMs(unused.at, 10 * std::int64_t { 86'400'000 });
    EXPECT_EQ(ward.faultOf(unused), std::nullopt);
    unused.at = base::plusMs(unused.at, 31 * std::int64_t { 86'400'000 });
    EXPECT_EQ(ward.faultOf(unused), FaultKind::BadInput);
}

} // namespace
} // namespace mk::registry::sample
