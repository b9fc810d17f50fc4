// SPDX-License-Identifier: GPL-3.0-or-later
// May this meter be used? One test for each line of interface.md, "What counts as missing", then "Reasons" and handbook 1.5 and 13.
#include "registry/meter/fitness.h"

#include "registry/meter/meter_life.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;
using sample::codesOf;
using sample::hasCode;
using sample::Materials;

using Codes = std::vector<std::string>;

/// The history of M1 after one set at 07:00 to 07:02 of 4 May, judged with these materials.
MeterHistory historyWith(const Materials& materials, const std::string& low = "60", const std::string& high = "300")
{
    static const Policy policy = defaultPolicy();
    MeterSeries series(policy);
    MeterHistory history;
    history.meter = { { 2 }, { base::MeterId("M1"), base::ModelId("K1"), {}, base::WardId("W1"), at("2026-05-01"), {} } };
    history.model = materials.model;
    history.ward = base::WardId("W1");
    history.state = StateSpell { { 2 }, MeterState::InService, at("2026-05-01"), {} };
    const SetRecord set = sample::judgePairOf(series, materials, "s", "2026-05-04T07:00", low, high);
    history.newestSet = set;
    if (set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned)
        history.newestAccepted = set;
    if (set.judged.drift.counted)
        history.newestCounted = set;
    history.stripVial = materials.stripVial;
    history.stripLot = materials.stripLot;
    return history;
}

Fitness fitnessOf(const MeterHistory& history, std::string_view time = "2026-05-04T08:00", const Policy& policy = defaultPolicy())
{
    return assess(history, policy, at(time), berlin());
}

Fitness fitnessWith(const Materials& materials)
{
    return fitnessOf(historyWith(materials));
}

Policy policyWith(const std::string& key, const std::string& text)
{
    const std::vector<std::pair<std::string, std::string>> settings { { key, text } };
    return policyFrom(settings).value();
}

void expectNotUsable(const Fitness& fitness, const Codes& codes)
{
    EXPECT_FALSE(fitness.usable);
    EXPECT_FALSE(fitness.until);
    EXPECT_EQ(codesOf(fitness), codes);
}

IncidentRecord fitnessIncident(IncidentKind kind, std::string_view happened)
{
    return { { 50 }, { at(happened), {}, base::MeterId("M1"), base::OperatorId("N1"), kind, {} } };
}

PairRecord fitnessPair(std::string_view time, PairOutcome outcome)
{
    PairRecord pair;
    pair.seq = { 60 };
    pair.pair.meterAt = pair.pair.labAt = pair.judged.at = at(time);
    pair.pair.meterResult = parseReading("100").value();
    pair.pair.labResult = parseReading("120").value();
    pair.judged.outcome = outcome;
    return pair;
}

} // namespace

TEST(Fitness, NothingStandsAgainstTheCommonGround)
{
    const Fitness fitness = fitnessWith({});
    EXPECT_TRUE(fitness.usable);
    EXPECT_TRUE(fitness.reasons.empty());
    EXPECT_EQ(fitness.advice, Advice::Use);
    EXPECT_EQ(fitness.until, at("2026-05-05T07:02"));
}

TEST(Missing, AnAcceptedControlSet)
{
    MeterHistory history = historyWith({});
    history.newestSet = history.newestAccepted = history.newestCounted = std::nullopt;
    expectNotUsable(fitnessOf(history), { "no-control-yet" });
}

TEST(Missing, AnAcceptedControlSetInTime)
{
    EXPECT_TRUE(fitnessOf(historyWith({}), "2026-05-05T07:01:59").usable);
    expectNotUsable(fitnessOf(historyWith({}), "2026-05-05T07:02"), { "control-overdue" });
}

TEST(Missing, TheRange)
{
    static const Policy policy = defaultPolicy();
    Materials m;
    MeterSeries series(policy);
    const auto run = sample::aRun("s", "2026-05-04T07:00", Level::Low, "60");
    RunContext context = m.contextOf(Level::Low);
    context.range = nullptr;
    EXPECT_EQ(sample::codesOf(invalidCauses(run, context, berlin())), Codes { "range-missing" });
}

TEST(Missing, TheExpiryOfAStripLot)
{
    Materials m;
    m.stripLot.lot.expiry.reset();
    expectNotUsable(fitnessWith(m), { "no-control-yet", "run-invalid", "strip-expired" });
}

TEST(Missing, TheOpenPeriodOfAStripLot)
{
    Materials m;
    m.stripLot.lot.openPeriod.reset();
    expectNotUsable(fitnessWith(m), { "no-control-yet", "run-invalid", "strip-vial-expired" });
}

TEST(Missing, TheOpeningOfAStripVial)
{
    Materials m;
    m.stripVial.vial.opened.reset();
    expectNotUsable(fitnessWith(m), { "no-control-yet", "run-invalid", "strip-vial-expired" });
}

TEST(Missing, TheReleaseOfAStripLot)
{
    Materials m;
    m.stripLot.lot.released.reset();
    expectNotUsable(fitnessWith(m), { "lot-not-released", "no-control-yet", "run-invalid" });
}

TEST(Missing, TheExpiryOfAControlLot)
{
    Materials m;
    m.lowLot.lot.expiry.reset();
    expectNotUsable(fitnessWith(m), { "control-expired", "no-control-yet", "run-invalid" });
}

TEST(Missing, TheOpenPeriodOfAControlLot)
{
    Materials m;
    m.highLot.lot.openPeriod.reset();
    expectNotUsable(fitnessWith(m), { "control-vial-expired", "no-control-yet", "run-invalid" });
}

TEST(Missing, TheOpeningOfAControlVial)
{
    Materials m;
    m.lowVial.vial.opened.reset();
    expectNotUsable(fitnessWith(m), { "control-vial-expired", "no-control-yet", "run-invalid" });
}

TEST(Missing, EitherCompetencyDateOfTheOperatorWhoRanIt)
{
    for (const bool from : { true, false }) {
        Materials m;
        (from ? m.person.act.competentFrom : m.person.act.competentUntil).reset();
        expectNotUsable(fitnessWith(m), { "no-control-yet", "operator-not-competent", "run-invalid" });
    }
}

TEST(Missing, ALapsedCompetencyIsMissingFromTheNextDay)
{
    Materials m;
    m.person.act.competentUntil = base::parseDate("2026-05-04").value();
    EXPECT_TRUE(fitnessWith(m).usable) << "its last day counts";
    m.person.act.competentUntil = base::parseDate("2026-05-03").value();
    EXPECT_TRUE(hasCode(fitnessWith(m), "operator-not-competent"));
}

TEST(Missing, TheCodeWhereTheModelNeedsOne)
{
    Materials m;
    m.model.act.needsCode = YesNo::Yes;
    expectNotUsable(fitnessWith(m), { "code-mismatch", "no-control-yet", "run-invalid" });
    m.stripLot.lot.code = "25";
    EXPECT_TRUE(fitnessWith(m).usable);
    auto run = sample::aRun("s", "2026-05-04T07:00", Level::Low, "60");
    run.codeShown = "24";
    EXPECT_EQ(sample::codesOf(invalidCauses(run, m.contextOf(Level::Low), berlin())), Codes { "code-mismatch" })
        << "the meter showed another";
}

TEST(Missing, TheWordThatTheModelMayBeShared)
{
    Materials m;
    m.model.act.sharedUse.reset();
    expectNotUsable(fitnessWith(m), { "not-for-shared-use" });
    m.model.act.sharedUse = YesNo::No;
    expectNotUsable(fitnessWith(m), { "not-for-shared-use" });
    EXPECT_EQ(fitnessWith(m).advice, Advice::Withdraw);
}

TEST(Missing, TheModelItself)
{
    MeterHistory history = historyWith({});
    history.model.reset();
    expectNotUsable(fitnessOf(history), { "not-for-shared-use" });
}

TEST(NotAReason, AFirstComparisonUntilOneIntervalAfterEnrolment)
{
    MeterHistory history = historyWith({}); // enrolled 1 May, interval 6 months
    const Policy longClearance = policyWith("clearance_hours", "744");
    history.newestAccepted->judged.lastAt = history.newestSet->judged.lastAt = at("2026-10-31T07:00");
    for (auto& run : history.newestSet->runs)
        run.run.at = at("2026-10-31T07:00");
    history.stripVial->vial.opened = at("2026-10-20");
    EXPECT_TRUE(fitnessOf(history, "2026-10-31T23:59", longClearance).usable);
    EXPECT_TRUE(hasCode(fitnessOf(history, "2026-10-31T23:59", longClearance), "comparison-due")) << "said 30 days before";
    expectNotUsable(fitnessOf(history, "2026-11-01T00:00", longClearance), { "comparison-overdue" });
    EXPECT_EQ(fitnessOf(history, "2026-10-31T12:00", longClearance).until, at("2026-11-01T00:00"));
}

TEST(NotAReason, Cleaning)
{
    EXPECT_FALSE(hasCode(fitnessWith({}), "cleaning-overdue"));
    expectNotUsable(fitnessOf(historyWith({}), "2026-05-04T08:00", policyWith("cleaning_interval", "2 d")), { "cleaning-overdue" });
}

TEST(NotAReason, PapersAndRemarks)
{
    Materials m;
    m.model.act.marketApproval.reset();
    m.model.act.haematocritLow.reset();
    m.model.act.haematocritHigh.reset();
    m.model.act.needsCode.reset();
    m.stripLot.lot.gtin.reset();
    m.stripLot.lot.received.reset();
    m.lowLot.lot.received.reset();
    m.person.act.name.reset();
    const Fitness fitness = fitnessWith(m);
    EXPECT_TRUE(fitness.usable);
    EXPECT_TRUE(fitness.reasons.empty());
}

TEST(NotAReason, ATargetForTheRules)
{
    Materials m;
    m.lowRange.act.mean.reset();
    m.lowRange.act.sd.reset();
    m.lowRange.act.stage.reset();
    EXPECT_TRUE(fitnessWith(m).usable) << "the range alone decides";
}

TEST(Breach, EveryInvalidCauseIsListedBesideRunInvalid)
{
    Materials m;
    m.stripVial.vial.opened.reset();
    m.person.act.competentUntil.reset();
    m.highLot.lot.expiry.reset();
    expectNotUsable(fitnessWith(m), { "control-expired", "no-control-yet", "operator-not-competent", "run-invalid", "strip-vial-expired" });
}

TEST(Breach, AnotherModelsStripsAndAnotherLevelsVial)
{
    Materials m;
    m.stripLot.lot.model = base::ModelId("K9");
    EXPECT_EQ(sample::codesOf(invalidCauses(sample::aRun("s", "2026-05-04T07:00", Level::Low, "60"), m.contextOf(Level::Low), berlin())),
        Codes { "model-mismatch" });
    m = {};
    m.lowLot.lot.level = Level::High;
    EXPECT_EQ(sample::codesOf(invalidCauses(sample::aRun("s", "2026-05-04T07:00", Level::Low, "60"), m.contextOf(Level::Low), berlin())),
        Codes { "level-mismatch" });
}

TEST(Breach, TheUnitOfTheMeterAndOfTheRange)
{
    Materials m;
    auto run = sample::aRun("s", "2026-05-04T07:00", Level::Low, "3.4");
    run.unit = base::GlucoseUnit::MmolPerL;
    EXPECT_EQ(sample::codesOf(invalidCauses(run, m.contextOf(Level::Low), berlin())), Codes { "unit-mismatch" });
    m.model.act.unit = base::GlucoseUnit::MmolPerL; // then the range is in the other unit
    EXPECT_EQ(sample::codesOf(invalidCauses(run, m.contextOf(Level::Low), berlin())), Codes { "unit-mismatch" });
}

TEST(Breach, ControlsMayRunInEveryStateButThree)
{
    for (const MeterState state : { MeterState::Received, MeterState::Acceptance, MeterState::InService, MeterState::OnHold,
             MeterState::Withdrawn, MeterState::AtRepair, MeterState::Reserve, MeterState::Missing, MeterState::Retired }) {
        Materials m;
        m.state = state;
        const bool never = state == MeterState::Received || state == MeterState::Missing || state == MeterState::Retired;
        EXPECT_EQ(invalidCauses(sample::aRun("s", "2026-05-04T07:00", Level::Low, "60"), m.contextOf(Level::Low), berlin()).empty(), !never)
            << word(state);
    }
}

TEST(State, OnlyInServiceIsUsable)
{
    for (const MeterState state : { MeterState::Received, MeterState::Acceptance, MeterState::OnHold, MeterState::Withdrawn,
             MeterState::AtRepair, MeterState::Reserve, MeterState::Missing, MeterState::Retired }) {
        MeterHistory history = historyWith({});
        history.state->state = state;
        expectNotUsable(fitnessOf(history), { "not-in-service" });
    }
}

TEST(State, IssuedFromReserveOwesAControl)
{
    MeterHistory history = historyWith({});
    history.state = StateSpell { { 70 }, MeterState::InService, at("2026-05-04T07:30"), MeterState::Reserve };
    expectNotUsable(fitnessOf(history), { "control-overdue" });
    history.state->since = at("2026-05-04T07:02");
    EXPECT_TRUE(fitnessOf(history).usable) << "the set was the one of the issue";
}

TEST(StripVialInUse, EndsTheValidityWhenItExpires)
{
    MeterHistory history = historyWith({});
    history.stripLot->lot.expiry = base::parsePrintedDate("2026-05-04").value();
    EXPECT_EQ(fitnessOf(history).until, at("2026-05-05T00:00"));
    expectNotUsable(fitnessOf(history, "2026-05-05T00:00"), { "control-due", "strip-expired" });
}

TEST(StripVialInUse, AnEndedOneIsReplacedByAnotherOpenOne)
{
    MeterHistory history = historyWith({});
    history.stripVial->ended = { { 71 }, { at("2026-05-04T07:30"), "V1", base::OperatorId("N1"), VialEndKind::Empty } };
    expectNotUsable(fitnessOf(history), { "no-strip-vial" });
    history.otherStripVialOpen = true;
    EXPECT_TRUE(fitnessOf(history).usable) << "a vial opened but never controlled makes no meter due";
}

TEST(StripVialInUse, AQuarantinedLotBlocks)
{
    MeterHistory history = historyWith({});
    history.stripLot->events.push_back({ { 72 }, { at("2026-05-04T07:30"), "S1", base::OperatorId("C1"), LotEventKind::Quarantined, {} } });
    expectNotUsable(fitnessOf(history), { "lot-quarantined" });
}

TEST(Comparison, AFailedOneBlocksUntilAPassedOneFollows)
{
    MeterHistory history = historyWith({});
    history.newestPair = fitnessPair("2026-05-04T07:30", PairOutcome::Outside);
    expectNotUsable(fitnessOf(history), { "comparison-failed" });
    history.newestPair = history.newestPassedPair = fitnessPair("2026-05-04T07:50", PairOutcome::Inside);
    EXPECT_TRUE(fitnessOf(history).usable);
}

TEST(Incident, CancelsTheClearanceUntilTheNextAcceptedSet)
{
    for (const auto kind :
        { IncidentKind::Dropped, IncidentKind::BatteryChanged, IncidentKind::Temperature, IncidentKind::WrongUnit, IncidentKind::Wet }) {
        MeterHistory history = historyWith({});
        history.incidents = { fitnessIncident(kind, "2026-05-04T07:30") };
        expectNotUsable(fitnessOf(history), { std::string(code(*effectOf(kind).reason)) });
        history.incidents = { fitnessIncident(kind, "2026-05-04T07:01:59") };
        expectNotUsable(fitnessOf(history), { std::string(code(*effectOf(kind).reason)) }); // between its two levels
        history.incidents = { fitnessIncident(kind, "2026-05-04T06:59:59") };
        EXPECT_TRUE(fitnessOf(history).usable) << word(kind) << ": an accepted set followed";
    }
}

TEST(Incident, SoiledUntilCleaned)
{
    MeterHistory history = historyWith({});
    history.cleanings = { fitnessIncident(IncidentKind::Soiled, "2026-05-04T07:30") };
    expectNotUsable(fitnessOf(history), { "cleaning-overdue" });
    history.cleanings.push_back(fitnessIncident(IncidentKind::Cleaned, "2026-05-04T07:40"));
    EXPECT_TRUE(fitnessOf(history).usable);
}

TEST(Incident, ThreeErrorCodesInTwentyFourHours)
{
    MeterHistory history = historyWith({});
    history.errorCodes = { at("2026-05-03T08:00:01"), at("2026-05-04T06:00") };
    EXPECT_TRUE(fitnessOf(history).usable) << "two";
    history.errorCodes.push_back(at("2026-05-04T07:30"));
    expectNotUsable(fitnessOf(history), { "error-codes" });
    EXPECT_TRUE(fitnessOf(history, "2026-05-04T08:00:01").usable) << "the first is then 24 hours old";
}

TEST(Reasons, DueNeverBlocksAndNamesTheMoment)
{
    const Fitness fitness = fitnessOf(historyWith({}), "2026-05-05T06:00");
    EXPECT_TRUE(fitness.usable);
    EXPECT_EQ(codesOf(fitness), Codes { "control-due" });
    EXPECT_FALSE(fitness.reasons.front().blocks);
    EXPECT_EQ(std::get<DueAt>(fitness.reasons.front().facts).due, at("2026-05-05T07:02"));
    ASSERT_FALSE(fitness.next.empty());
    EXPECT_EQ(fitness.next.front().by, at("2026-05-05T07:02"));
}

TEST(Reasons, UsableIsFalseExactlyIfOneBlocks)
{
    MeterHistory history = historyWith({});
    history.openLookbacks.push_back({ { 80 },
        { base::MeterId("M1"), at("2026-05-04T07:10"), at("2026-05-03T15:00"), at("2026-05-04T07:00"), "dropped", { 79 } }, {}, {}, {} });
    const Fitness fitness = fitnessOf(history);
    EXPECT_TRUE(fitness.usable);
    EXPECT_EQ(codesOf(fitness), Codes { "look-back-open" });
    EXPECT_EQ(fitness.reasons.front().evidence, std::vector<base::Seq> { { 80 } });
    EXPECT_EQ(fitness.advice, Advice::Check);
}

TEST(Reasons, EveryFindingIsListedTheBlockingFirst)
{
    MeterHistory history = historyWith({});
    history.incidents = { fitnessIncident(IncidentKind::Dropped, "2026-05-04T07:30") };
    history.newestPair = fitnessPair("2026-05-04T07:30", PairOutcome::Outside);
    history.cleanings = { fitnessIncident(IncidentKind::Soiled, "2026-05-04T07:30") };
    history.openLookbacks.push_back({ { 80 },
        { base::MeterId("M1"), at("2026-05-04T07:10"), at("2026-05-03T15:00"), at("2026-05-04T07:00"), "dropped", { 79 } }, {}, {}, {} });
    const Fitness fitness = fitnessOf(history);
    EXPECT_EQ(codesOf(fitness), (Codes { "cleaning-overdue", "comparison-failed", "dropped", "look-back-open" }));
    EXPECT_EQ(fitness.reasons.back().code, ReasonCode::LookBackOpen);
    for (const auto& reason : fitness.reasons)
        EXPECT_FALSE(reason.evidence.empty()) << code(reason.code);
}

TEST(NewestSet, RejectedStandsHoweverOldUntilANewerSet)
{
    MeterHistory history = historyWith({}, "78", "300");
    EXPECT_TRUE(hasCode(fitnessOf(history), "control-rejected"));
    EXPECT_TRUE(hasCode(fitnessOf(history, "2026-06-04T08:00"), "control-rejected"));
}

TEST(NewestSet, IsReadAsFarAsItHadBeenRun)
{
    // At 07:01 only the low control of the set was there.
    MeterHistory history = historyWith({});
    history.newestAccepted.reset();
    history.newestCounted.reset();
    const Fitness between = fitnessOf(history, "2026-05-04T07:01");
    EXPECT_TRUE(hasCode(between, "set-partial"));
    EXPECT_FALSE(between.usable);
}

TEST(NewestSet, AnErrorCodeLeavesItPartial)
{
    expectNotUsable(fitnessOf(historyWith({}, "ERR:E-4", "300")), { "no-control-yet", "set-partial" });
}

} // namespace mk::registry
