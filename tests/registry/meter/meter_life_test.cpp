// SPDX-License-Identifier: GPL-3.0-or-later
// Transitions T1 to T15 of handbook 1.4 that a movement carries, what an incident does (1.5), what a return demands (1.4, T6 and T8).
#include "registry/meter/meter_life.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using S = MeterState;

constexpr MeterState kEveryState[] = { S::Received, S::Acceptance, S::InService, S::OnHold, S::Withdrawn, S::AtRepair, S::Reserve,
    S::Missing, S::Retired };

enum class WhoMay { Nobody, Coordinator, NurseToo };

/// The table of handbook 1.4, read for a movement; T6 and T8 belong to the return steps.
WhoMay whoMay(MeterState from, MeterState to)
{
    if (from == to || from == S::Retired)
        return WhoMay::Nobody;
    if (to == S::Retired)
        return WhoMay::Coordinator; // T15
    if (to == S::Missing)
        return WhoMay::NurseToo; // T13
    switch (from) {
    case S::Received: return to == S::Acceptance ? WhoMay::Coordinator : WhoMay::Nobody;                                           // T2
    case S::Acceptance: return to == S::InService || to == S::Reserve || to == S::AtRepair ? WhoMay::Coordinator : WhoMay::Nobody; // T3, T4
    case S::InService:
        if (to == S::OnHold || to == S::Withdrawn) // T5, T7
            return WhoMay::NurseToo;
        return to == S::Reserve ? WhoMay::Coordinator : WhoMay::Nobody;            // T11
    case S::OnHold: return to == S::Withdrawn ? WhoMay::NurseToo : WhoMay::Nobody; // T7
    case S::Reserve:                                                               // T7, T11
        return to == S::Withdrawn ? WhoMay::NurseToo : to == S::InService ? WhoMay::Coordinator : WhoMay::Nobody;
    case S::Withdrawn: return to == S::AtRepair || to == S::Reserve ? WhoMay::Coordinator : WhoMay::Nobody; // T8, T9
    case S::AtRepair: return to == S::Acceptance ? WhoMay::Coordinator : WhoMay::Nobody;                    // T10
    case S::Missing: return to == S::Withdrawn ? WhoMay::NurseToo : WhoMay::Nobody;                         // T14
    case S::Retired: break;
    }
    return WhoMay::Nobody;
}

IncidentRecord lifeIncident(std::int64_t seq, IncidentKind kind, std::string_view happened)
{
    return { { seq }, { at(happened), {}, base::MeterId("M1"), base::OperatorId("N1"), kind, {} } };
}

StopRecord lifeStop(std::int64_t seq, std::string_view since, const std::string& cause, std::int64_t because, bool withdrawn = false)
{
    return { { seq }, { base::MeterId("M1"), at(since), withdrawn, cause, { because }, true, "policy 1" }, {}, {} };
}

SetRecord lifeSet(std::string_view time, Verdict verdict = Verdict::Accepted)
{
    SetRecord set;
    set.judged.lastAt = at(time);
    set.judged.verdict = verdict;
    return set;
}

OperatorRecord lifePerson(const std::string& id, Role role)
{
    OperatorRecord person { { 1 },
        { base::OperatorId(id), {}, role, base::parseDate("2026-01-01").value(), base::parseDate("2026-12-31").value() } };
    if (role == Role::Coordinator)
        person.act.competentFrom = person.act.competentUntil = std::nullopt;
    return person;
}

/// A meter dropped at 09:00, told at 10:00.
struct Dropped {
    std::vector<StopRecord> stops { lifeStop(3, "2026-05-04T10:00", "dropped", 2) };
    std::vector<IncidentRecord> causes { lifeIncident(2, IncidentKind::Dropped, "2026-05-04T09:00") };
    std::vector<ReturnRecord> steps;
    std::vector<SetRecord> sets; ///< newest first
    std::optional<PairRecord> pair;
    OperatorRecord person = lifePerson("N1", Role::Nurse);
    MeterState state = S::OnHold;
    bool byPerson = false;
    std::optional<base::Moment> firmwareNoted;

    ReturnEvidence evidence() const
    {
        return { state, stops, causes, steps, sets, pair, person, base::parseDate("2026-05-04").value(), byPerson, firmwareNoted };
    }
    void inspect(std::string_view time)
    {
        steps.push_back({ { 5 }, { at(time), base::MeterId("M1"), person.act.id, ReturnStepKind::Inspected, {} } });
    }
    base::Done tryStep(ReturnStepKind kind) const
    {
        return mayTakeReturnStep(
            { at("2026-05-04T12:00"), base::MeterId("M1"), person.act.id, kind, "cause found" }, evidence(), defaultPolicy());
    }
};

PairRecord lifePair(std::string_view time, PairOutcome outcome)
{
    PairRecord pair;
    pair.judged.at = at(time);
    pair.judged.outcome = outcome;
    return pair;
}

} // namespace

TEST(MayMove, EveryPairOfStatesFollowsTheTable)
{
    for (const MeterState from : kEveryState)
        for (const MeterState to : kEveryState) {
            const WhoMay who = whoMay(from, to);
            const std::string step = std::string(word(from)) + " to " + std::string(word(to));
            EXPECT_EQ(static_cast<bool>(mayMove(from, to, Role::Coordinator)), who != WhoMay::Nobody) << step << " by the coordinator";
            EXPECT_EQ(static_cast<bool>(mayMove(from, to, Role::Nurse)), who == WhoMay::NurseToo) << step << " by a nurse";
            EXPECT_FALSE(mayMove(from, to, Role::Inspector)) << step << " by an inspector";
        }
}

TEST(MayMove, ForbidsTheBackDoors)
{
    // Handbook 1.4: "Forbidden and to be tested as such".
    EXPECT_FALSE(mayMove(S::Received, S::InService, Role::Coordinator));
    EXPECT_FALSE(mayMove(S::AtRepair, S::InService, Role::Coordinator));
    EXPECT_FALSE(mayMove(S::Missing, S::InService, Role::Coordinator));
    EXPECT_FALSE(mayMove(S::Withdrawn, S::OnHold, Role::Coordinator));
    for (const MeterState to : kEveryState)
        EXPECT_FALSE(mayMove(S::Retired, to, Role::Coordinator)) << word(to);
}

TEST(MayMove, SaysWhyNot)
{
    EXPECT_NE(mayMove(S::OnHold, S::InService, Role::Coordinator).error().text.find("return steps"), std::string::npos);
    EXPECT_NE(mayMove(S::AtRepair, S::Acceptance, Role::Nurse).error().text.find("coordinator"), std::string::npos);
}

TEST(EffectOf, FollowsTheEventTable)
{
    // Handbook 1.5: state change of each event.
    for (const auto kind : { IncidentKind::Dropped, IncidentKind::BatteryChanged, IncidentKind::ClockWrong, IncidentKind::SoftwareUpdated,
             IncidentKind::Temperature, IncidentKind::ImplausibleResult }) {
        EXPECT_TRUE(effectOf(kind).holds) << word(kind);
        EXPECT_FALSE(effectOf(kind).withdraws) << word(kind);
        EXPECT_TRUE(effectOf(kind).cancelsClearance) << word(kind);
    }
    for (const auto kind : { IncidentKind::Wet, IncidentKind::Damaged, IncidentKind::WrongUnit, IncidentKind::FieldNotice })
        EXPECT_TRUE(effectOf(kind).withdraws) << word(kind);
    for (const auto kind :
        { IncidentKind::Cleaned, IncidentKind::NotInUse, IncidentKind::Soiled, IncidentKind::Found, IncidentKind::ErrorCode }) {
        EXPECT_FALSE(effectOf(kind).holds) << word(kind);
        EXPECT_FALSE(effectOf(kind).withdraws) << word(kind);
    }
    EXPECT_TRUE(effectOf(IncidentKind::SoftwareUpdated).startsSegment); // handbook 6.2, segment boundary
}

TEST(Return, ADropAsksForInspectionAndOneSetAfterIt)
{
    Dropped meter;
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed));
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Inspected));
    meter.inspect("2026-05-04T11:00");
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "no set";
    meter.sets = { lifeSet("2026-05-04T08:59") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::ControlsPassed)) << "the set came before the fall";
    meter.sets = { lifeSet("2026-05-04T11:10") };
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::ControlsPassed));
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
}

TEST(Return, AWarnedSetIsAcceptedAndARejectedOneIsNot)
{
    Dropped meter;
    meter.inspect("2026-05-04T11:00");
    meter.sets = { lifeSet("2026-05-04T11:10", Verdict::Warned) };
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
    meter.sets = { lifeSet("2026-05-04T11:20", Verdict::Rejected), lifeSet("2026-05-04T11:10") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "the newest set speaks";
}

TEST(Return, AnInspectionBeforeTheStopDoesNotCount)
{
    Dropped meter;
    meter.inspect("2026-05-04T09:59");
    meter.sets = { lifeSet("2026-05-04T11:10") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed));
}

TEST(Return, OnHoldACompetentNurseOrTheCoordinatorSigns)
{
    Dropped meter;
    meter.inspect("2026-05-04T11:00");
    meter.sets = { lifeSet("2026-05-04T11:10") };
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
    meter.person = lifePerson("C1", Role::Coordinator);
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
    meter.person = lifePerson("I1", Role::Inspector);
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed));
    meter.person = lifePerson("N1", Role::Nurse);
    meter.person.act.competentUntil = base::parseDate("2026-05-03").value();
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "competency ended the day before";
    meter.person.act.competentUntil.reset();
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "competency not on record";
}

TEST(Return, FromWithdrawnOnlyTheCoordinatorSignsAfterTwoSetsInARow)
{
    Dropped meter;
    meter.state = S::Withdrawn;
    meter.stops = { lifeStop(3, "2026-05-04T10:00", "wrong-unit", 2, true) };
    meter.causes = { lifeIncident(2, IncidentKind::WrongUnit, "2026-05-04T09:00") };
    meter.inspect("2026-05-04T11:00");
    meter.sets = { lifeSet("2026-05-04T11:20"), lifeSet("2026-05-04T11:10") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "a nurse";
    meter.person = lifePerson("C1", Role::Coordinator);
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
    meter.sets = { lifeSet("2026-05-04T11:20") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "one set is not two";
    meter.sets = { lifeSet("2026-05-04T11:30"), lifeSet("2026-05-04T11:20", Verdict::Partial), lifeSet("2026-05-04T11:10") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "not in a row";
    meter.sets = { lifeSet("2026-05-04T11:20"), lifeSet("2026-05-04T09:30") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "one of them came before the withdrawal";
}

TEST(Return, DriftDamageAndAFailedComparisonAskForAComparison)
{
    // Handbook 1.4, T8.
    for (const char* cause : { "drift", "comparison-failed", "damaged" }) {
        Dropped meter;
        meter.state = S::Withdrawn;
        meter.person = lifePerson("C1", Role::Coordinator);
        meter.stops = { lifeStop(3, "2026-05-04T10:00", cause, 2, true) };
        meter.causes.clear();
        if (std::string(cause) == "damaged")
            meter.causes = { lifeIncident(2, IncidentKind::Damaged, "2026-05-04T09:00") };
        meter.inspect("2026-05-04T11:00");
        meter.sets = { lifeSet("2026-05-04T11:20"), lifeSet("2026-05-04T11:10") };
        EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << cause;
        EXPECT_FALSE(meter.tryStep(ReturnStepKind::ComparisonPassed)) << cause;
        meter.pair = lifePair("2026-05-04T11:30", PairOutcome::Outside);
        EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << cause;
        meter.pair = lifePair("2026-05-04T09:30", PairOutcome::Inside);
        EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << cause << ", compared before the stop";
        meter.pair = lifePair("2026-05-04T11:30", PairOutcome::Inside);
        EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed)) << cause;
    }
}

TEST(Return, ADamagedOrWetMeterIsRepairedRetiredOrMendedInWords)
{
    // Handbook 1.5: "repair or retire". What files carry is signed as before.
    for (const auto kind : { IncidentKind::Damaged, IncidentKind::Wet }) {
        Dropped meter;
        meter.state = S::Withdrawn;
        meter.person = lifePerson("C1", Role::Coordinator);
        meter.stops = { lifeStop(3, "2026-05-04T10:00", std::string(code(*effectOf(kind).reason)), 2, true) };
        meter.causes = { lifeIncident(2, kind, "2026-05-04T09:00") };
        meter.sets = { lifeSet("2026-05-04T11:20"), lifeSet("2026-05-04T11:10") };
        meter.pair = lifePair("2026-05-04T11:30", PairOutcome::Inside);
        meter.inspect("2026-05-04T11:00");
        EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
        meter.byPerson = true;
        const auto refused = meter.tryStep(ReturnStepKind::Signed);
        ASSERT_FALSE(refused);
        EXPECT_NE(refused.error().text.find("at-repair"), std::string::npos);
        meter.steps.back().act.detail = "new case fitted by the workshop";
        EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
    }
}

TEST(Return, NewSoftwareWantsItsVersion)
{
    Dropped meter;
    meter.byPerson = true;
    meter.stops = { lifeStop(3, "2026-05-04T10:00", "software-changed", 2) };
    meter.causes = { lifeIncident(2, IncidentKind::SoftwareUpdated, "2026-05-04T09:00") };
    meter.sets = { lifeSet("2026-05-04T11:10") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed));
    meter.firmwareNoted = at("2026-05-04T08:00");
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "the version of before";
    meter.firmwareNoted = at("2026-05-04T09:00");
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
}

TEST(Return, AfterErrorCodesAnotherStripVialMustShowThatItIsRight)
{
    Dropped meter;
    meter.byPerson = true;
    meter.stops = { lifeStop(3, "2026-05-04T10:00", "error-codes", 2) };
    meter.causes.clear();
    const auto withVial = [](SetRecord set, const char* vial) {
        RunRecord run;
        run.run.at = set.judged.lastAt;
        run.run.stripVial = base::StripVialId(vial);
        set.runs.push_back(run);
        return set;
    };
    meter.sets = { withVial(lifeSet("2026-05-04T11:10"), "V1"), withVial(lifeSet("2026-05-04T09:50", Verdict::Partial), "V1") };
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed));
    meter.sets.front() = withVial(lifeSet("2026-05-04T11:10"), "V2");
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
}

TEST(Return, AFoundMetersMemoryIsLookedAt)
{
    Dropped meter;
    meter.byPerson = true;
    meter.state = S::Withdrawn;
    meter.person = lifePerson("C1", Role::Coordinator);
    meter.stops = { lifeStop(3, "2026-05-04T10:00", "found", 2, true) };
    meter.causes.clear();
    meter.sets = { lifeSet("2026-05-04T11:20"), lifeSet("2026-05-04T11:10") };
    const auto refused = meter.tryStep(ReturnStepKind::Signed);
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().text.find("memory"), std::string::npos);
    meter.inspect("2026-05-04T11:00");
    EXPECT_FALSE(meter.tryStep(ReturnStepKind::Signed)) << "it must say what the memory showed";
    meter.steps.back().act.detail = "memory: no result since it was missed";
    EXPECT_TRUE(meter.tryStep(ReturnStepKind::Signed));
}

TEST(EffectOf, EveryRowOfTheEventTable)
{
    // Handbook 1.5, row by row: holds, withdraws, cancels clearance, asks for an inspection, for a comparison, begins a segment.
    const struct {
        IncidentKind kind;
        const char* code;
        bool holds, withdraws, cancels, inspection, comparison, segment;
    } kRows[] = {
        { IncidentKind::Dropped, "dropped", true, false, true, true, false, false },
        { IncidentKind::Damaged, "damaged", false, true, true, true, true, false },
        { IncidentKind::Wet, "wet", false, true, true, true, true, false },
        { IncidentKind::ImplausibleResult, "implausible-result", true, false, true, false, false, false }, // T5, D8
        { IncidentKind::BatteryChanged, "battery-changed", true, false, true, true, false, false },
        { IncidentKind::ClockWrong, "clock-wrong", true, false, true, true, false, false },
        { IncidentKind::WrongUnit, "wrong-unit", false, true, true, true, false, false },
        { IncidentKind::SoftwareUpdated, "software-changed", true, false, true, false, false, true },
        { IncidentKind::Temperature, "temperature", true, false, true, false, false, false },
        { IncidentKind::FieldNotice, "field-notice", false, true, false, false, false, false },
        { IncidentKind::ErrorCode, "", false, false, false, false, false, false }, // the policy's number of them holds
        { IncidentKind::Soiled, "", false, false, false, false, false, false },    // unfit by computation until cleaned
        { IncidentKind::Cleaned, "", false, false, false, false, false, false },
        { IncidentKind::NotInUse, "", false, false, false, false, false, false },
        { IncidentKind::Found, "", false, false, false, false, false, false }, // withdraws a missing meter, T14
    };
    EXPECT_EQ(std::size(kRows), std::size(Words<IncidentKind>::all)) << "a row for each kind";
    for (const auto& row : kRows) {
        const IncidentEffect& effect = effectOf(row.kind);
        EXPECT_EQ(effect.reason ? code(*effect.reason) : std::string_view(), row.code);
        EXPECT_EQ(effect.holds, row.holds) << word(row.kind);
        EXPECT_EQ(effect.withdraws, row.withdraws) << word(row.kind);
        EXPECT_EQ(effect.cancelsClearance, row.cancels) << word(row.kind);
        EXPECT_EQ(effect.needsInspection(), row.inspection) << word(row.kind);
        EXPECT_EQ(effect.needsComparison(), row.comparison) << word(row.kind);
        EXPECT_EQ(effect.startsSegment, row.segment) << word(row.kind);
    }
}

TEST(Return, OnlyAStoppedMeterIsReturned)
{
    for (const MeterState state : kEveryState) {
        Dropped meter;
        meter.state = state;
        EXPECT_EQ(static_cast<bool>(meter.tryStep(ReturnStepKind::Inspected)), state == S::OnHold || state == S::Withdrawn) << word(state);
    }
}

} // namespace mk::registry
