// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about the life of a meter: delivery, acceptance, repair, loss, transfer, reserve; handbook 1 and 10.4.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {

using namespace registry;

namespace {

/// A ward whose meters move, with short words for it.
struct Life : WardWorld {
    explicit Life(const Ground& ground = {}) : WardWorld(ground)
    {
        record(acts::WardAdded { base::WardId("W2"), "Ward two" });
        record(acts::OperatorEnrolled { base::OperatorId("I1"), "Inspector", Role::Inspector, {}, {} });
    }
    acts::MeterMoved move(std::string_view time, MeterState to, const std::string& meter = "M1", const std::string& person = "C1")
    {
        goTo(time);
        return { at(time), base::MeterId(meter), base::OperatorId(person), to, {}, {} };
    }
    MeterState stateAt(std::string_view time, const std::string& meter = "M1") { return fitness(time, meter).state; }
    std::string say(
        AcceptanceItem item, YesNo met, std::string_view time, const std::string& meter = "M1", std::optional<std::string> evidence = {})
    {
        goTo(time);
        return refusalOf(
            acts::AcceptanceChecked { at(time), base::MeterId(meter), base::OperatorId("C1"), item, met, std::move(evidence) });
    }
    void cleaned(std::string_view time, const std::string& meter = "M1")
    {
        goTo(time);
        acts::IncidentReported incident { at(time), {}, base::MeterId(meter), base::OperatorId("N1"), IncidentKind::Cleaned, {} };
        incident.agent = "wipe 3";
        incident.contactTimeKept = YesNo::Yes;
        record(incident);
    }
    /// What withdrawal and dispatch want, given.
    void sendToRepair(std::string_view withdrawn, std::string_view sent)
    {
        auto out = move(withdrawn, MeterState::Withdrawn);
        out.reason = "the display is dim";
        record(out);
        auto away = move(sent, MeterState::AtRepair);
        away.document = "decontamination 4";
        away.memoryCleared = YesNo::Yes;
        record(away);
    }
};

} // namespace

TEST(Story, S44_BackFromRepairAcceptanceIsForcedAndTheTryIsLogged)
{
    Life ward;
    ward.runSet("before", "2026-05-04T07:00", "60", "300");
    ward.sendToRepair("2026-05-04T08:00", "2026-05-04T09:00");
    EXPECT_EQ(ward.stateAt("2026-05-04T09:01"), MeterState::AtRepair);

    EXPECT_NE(ward.refusalOf(ward.move("2026-05-11T09:00", MeterState::InService)), "") << "never straight from repair";
    EXPECT_EQ(ward.stateAt("2026-05-11T09:01"), MeterState::AtRepair);
    const auto notes = ward.entriesOf("note.added");
    ASSERT_EQ(notes.size(), 1U) << "the try is on record";
    EXPECT_EQ(notes.front().subject, "M1");
    EXPECT_NE(notes.front().body.find("Refused: to in-service"), std::string::npos);
    EXPECT_EQ(notes.front().person, "C1");
    EXPECT_TRUE(ward.entriesOf("meter.moved").size() == 2) << "and moved nothing";

    auto back = ward.move("2026-05-11T09:10", MeterState::Acceptance);
    EXPECT_NE(ward.refusalOf(back).find("--document"), std::string::npos) << "no service report";
    back.document = "service report 12";
    ward.record(back);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-11T09:15", MeterState::InService)), "") << "acceptance is not complete";

    for (int i = 0; i < 6; ++i)
        EXPECT_EQ(ward.say(static_cast<AcceptanceItem>(i), YesNo::Yes, "2026-05-11T09:30", "M1", "seen"), "");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-11T09:31", MeterState::InService)).find("control set"), std::string::npos);
    ward.runSet("acceptance", "2026-05-11T09:40", "60", "300");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-11T09:45", MeterState::InService, "M1", "N1")).find("coordinator"), std::string::npos);
    ward.record(ward.move("2026-05-11T09:46", MeterState::InService));
    const Fitness fit = ward.fitness("2026-05-11T09:47");
    EXPECT_TRUE(fit.usable) << codes(fit);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S44_FoundAfterNineDaysItIsWithdrawnAndItsMemoryLookedAt)
{
    Life ward;
    ward.runSet("before", "2026-05-04T07:00", "60", "300");
    auto lost = ward.move("2026-05-04T15:00", MeterState::Missing, "M1", "N1");
    EXPECT_NE(ward.refusalOf(lost).find("--last-seen"), std::string::npos);
    lost.lastSeen = "N2 in the store room at noon";
    ward.record(lost);
    EXPECT_FALSE(ward.fitness("2026-05-05T07:00").usable);

    ward.goTo("2026-05-13T10:00");
    ward.record(acts::IncidentReported {
        ward.at("2026-05-13T10:00"), {}, base::MeterId("M1"), base::OperatorId("N2"), IncidentKind::Found, "in a drawer" });
    EXPECT_EQ(ward.stateAt("2026-05-13T10:01"), MeterState::Withdrawn);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-13T10:05", MeterState::InService)), "");
    ward.runSet("one", "2026-05-13T10:10", "60", "300");
    ward.runSet("two", "2026-05-13T10:20", "61", "301");
    EXPECT_FALSE(ward.fitness("2026-05-13T10:23").usable) << "controls alone do not bring it back";

    ward.goTo("2026-05-13T11:00");
    const auto step = [&](ReturnStepKind kind, const char* person, std::optional<std::string> detail) {
        return ward.refusalOf(
            acts::ReturnStep { ward.at("2026-05-13T11:00"), base::MeterId("M1"), base::OperatorId(person), kind, std::move(detail) });
    };
    EXPECT_NE(step(ReturnStepKind::Signed, "C1", "approved").find("memory"), std::string::npos);
    EXPECT_EQ(step(ReturnStepKind::Inspected, "C1", "memory: no result since 4 May"), "");
    EXPECT_NE(step(ReturnStepKind::Signed, "N1", "approved").find("coordinator"), std::string::npos);
    EXPECT_EQ(step(ReturnStepKind::Signed, "C1", "approved"), "");
    EXPECT_TRUE(ward.fitness("2026-05-13T11:01").usable) << codes(ward.fitness("2026-05-13T11:01"));
}

TEST(Life, ADeliveredMeterGoesThroughAcceptanceIntoService)
{
    Life ward;
    ward.goTo("2026-05-04T08:00");
    acts::MeterEnrolled fresh { base::MeterId("M2"), base::ModelId("K1"), {}, base::WardId("W1"), ward.at("2026-05-04T08:00"),
        MeterState::Received };
    EXPECT_NE(ward.refusalOf(fresh).find("serial"), std::string::npos);
    fresh.serial = "serial-1";
    EXPECT_NE(ward.refusalOf(fresh).find("'M1'"), std::string::npos) << "the twin is named";
    fresh.serial = "serial-2";
    const store::NewAct byNurse { fresh, {} };
    EXPECT_FALSE(ward.registrar().record({ &byNurse, 1 }, { base::OperatorId("N1"), "test" })) << "T1 is the coordinator's";
    ward.record(fresh);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:05", MeterState::InService, "M2")), "")
        << "received never goes straight into service";
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:06", MeterState::Acceptance, "M2")).find("--insert-edition"), std::string::npos);
    acts::MeterDescribed file { ward.at("2026-05-04T08:07"), base::MeterId("M2"), base::OperatorId("C1") };
    ward.goTo("2026-05-04T08:07");
    EXPECT_NE(ward.refusalOf(file), "") << "nothing said";
    file.insert = "IFU 2026-02";
    file.udi = "(01)09506000134352(21)serial-2";
    file.firmware = "1.0";
    ward.record(file);
    EXPECT_NE(ward.say(AcceptanceItem::Identity, YesNo::Yes, "2026-05-04T08:08", "M2").find("not in acceptance"), std::string::npos);
    ward.record(ward.move("2026-05-04T08:10", MeterState::Acceptance, "M2"));
    for (int i = 0; i < 5; ++i)
        EXPECT_EQ(ward.say(static_cast<AcceptanceItem>(i), YesNo::Yes, "2026-05-04T08:20", "M2"), "");
    Setting onM2;
    onM2.meter = "M2";
    ward.runSet("acceptance", "2026-05-04T08:30", "60", "300", onM2);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:35", MeterState::InService, "M2")).find("agreement"), std::string::npos);
    EXPECT_EQ(ward.say(AcceptanceItem::Agreement, YesNo::Yes, "2026-05-04T08:36", "M2"), "");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:37", MeterState::InService, "M2")).find("--evidence"), std::string::npos);
    EXPECT_EQ(ward.say(AcceptanceItem::Agreement, YesNo::Yes, "2026-05-04T08:38", "M2", "side by side with M1"), "");
    ward.record(ward.move("2026-05-04T08:40", MeterState::InService, "M2"));
    EXPECT_TRUE(ward.fitness("2026-05-04T08:41", "M2").usable) << codes(ward.fitness("2026-05-04T08:41", "M2"));
}

TEST(Life, AMeterIsFoundByIdSerialAndUdiAlsoWhenRetired)
{
    Life ward;
    ward.goTo("2026-05-04T08:00");
    acts::MeterDescribed file { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId("C1") };
    file.udi = "09506000134352/serial-1";
    ward.record(file);
    auto retired = ward.move("2026-05-05T08:00", MeterState::Retired);
    retired.reason = "worn out, to the recycler";
    EXPECT_NE(ward.refusalOf(retired).find("--memory-cleared"), std::string::npos);
    retired.memoryCleared = YesNo::Yes;
    ward.record(retired);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-06T08:00", MeterState::Missing)), "");

    auto reader = ward.reader();
    using Found = std::vector<std::pair<base::MeterId, std::string>>;
    EXPECT_EQ(*reader.metersCalled("M1"), (Found { { base::MeterId("M1"), "id" } }));
    EXPECT_EQ(*reader.metersCalled("serial-1"), (Found { { base::MeterId("M1"), "serial" } }));
    EXPECT_EQ(*reader.metersCalled("09506000134352/serial-1"), (Found { { base::MeterId("M1"), "udi" } }));
    EXPECT_TRUE(reader.metersCalled("serial-9")->empty());
    EXPECT_EQ(ward.fitness("2026-05-06T08:00").state, MeterState::Retired);
}

TEST(Life, ATransferWantsConfirmationAndAControlOnTheNewWard)
{
    Life ward;
    ward.runSet("on W1", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T09:00");
    const auto transfer = [&](const char* to) {
        return acts::MeterMoved { ward.at("2026-05-04T09:00"), base::MeterId("M1"), base::OperatorId("N1"), {}, base::WardId(to), {} };
    };
    EXPECT_NE(ward.refusalOf(transfer("W1")).find("already"), std::string::npos);
    ward.record(transfer("W2"));
    const Fitness moved = ward.fitness("2026-05-04T09:01");
    EXPECT_FALSE(moved.usable);
    EXPECT_EQ(codes(moved), "transferred");
    ASSERT_FALSE(moved.next.empty());
    EXPECT_TRUE(std::ranges::any_of(
        moved.next, [](const NextStep& step) { return step.what == StepKind::ConfirmArrival && step.subject == "W2"; }));

    ward.goTo("2026-05-04T09:30");
    const auto confirm = [&](const char* to) {
        return acts::TransferConfirmed { ward.at("2026-05-04T09:30"), base::MeterId("M1"), base::OperatorId("N2"), base::WardId(to) };
    };
    EXPECT_NE(ward.refusalOf(confirm("W1")), "");
    ward.record(confirm("W2"));
    EXPECT_NE(ward.refusalOf(confirm("W2")).find("already"), std::string::npos);
    EXPECT_EQ(codes(ward.fitness("2026-05-04T09:31")), "transferred") << "arriving is no control";
    const SetRecord there = ward.runSet("on W2", "2026-05-04T09:40", "60", "300");
    EXPECT_EQ(there.judged.ward.value, "W2");
    EXPECT_EQ(ward.set("on W1").judged.ward.value, "W1") << "the ward of the run is frozen";
    const Fitness after = ward.fitness("2026-05-04T09:43");
    EXPECT_TRUE(after.usable) << codes(after);
    EXPECT_TRUE(after.next.empty());
    auto reader = ward.reader();
    const auto wards = reader.wardSpells(base::MeterId("M1"), ward.at("2026-05-04T10:00"));
    ASSERT_EQ(wards->size(), 2U);
    EXPECT_EQ(wards->front().ward.value, "W1");
    EXPECT_EQ(wards->back().since, ward.at("2026-05-04T09:00"));
}

TEST(Life, APolicyMayLeaveTheControlAfterATransferOut)
{
    Ground ground;
    ground.policy = { { "control_after_transfer", "no" } };
    Life ward(ground);
    ward.runSet("on W1", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T09:00");
    ward.record(acts::MeterMoved { ward.at("2026-05-04T09:00"), base::MeterId("M1"), base::OperatorId("N1"), {}, base::WardId("W2"), {} });
    EXPECT_TRUE(ward.fitness("2026-05-04T09:01").usable);
}

TEST(Life, ReserveIsIssuedCleanedAndControlled)
{
    Life ward;
    ward.runSet("in use", "2026-05-04T07:00", "60", "300");
    ward.record(ward.move("2026-05-04T08:00", MeterState::Reserve));
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T09:00", MeterState::InService)).find("cleaned"), std::string::npos);
    ward.cleaned("2026-05-04T09:10");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T09:11", MeterState::InService)).find("control set"), std::string::npos)
        << "the morning's set came before";
    ward.runSet("on issue", "2026-05-04T09:20", "60", "300");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T09:25", MeterState::InService, "M1", "N1")), "")
        << "a nurse may ask, the coordinator issues";
    ward.record(ward.move("2026-05-04T09:26", MeterState::InService));
    EXPECT_TRUE(ward.fitness("2026-05-04T09:27").usable) << codes(ward.fitness("2026-05-04T09:27"));
}

TEST(Life, AModelNotMarkedForSharedUseNeverEntersService)
{
    Life ward;
    ward.goTo("2026-05-04T08:00");
    ward.record(
        acts::ModelAdded { base::ModelId("K9"), base::GlucoseUnit::MgPerDl, decimal("20"), decimal("600"), {}, {}, YesNo::No, {}, {} });
    ward.record(acts::MeterEnrolled {
        base::MeterId("M9"), base::ModelId("K9"), "s9", base::WardId("W1"), ward.at("2026-05-04T08:00"), MeterState::Acceptance });
    for (int i = 0; i < 6; ++i)
        EXPECT_EQ(ward.say(static_cast<AcceptanceItem>(i), YesNo::Yes, "2026-05-04T08:20", "M9", "seen"), "");
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:30", MeterState::InService, "M9")).find("shared_use"), std::string::npos);
    EXPECT_NE(ward.refusalOf(ward.move("2026-05-04T08:30", MeterState::Reserve, "M9")).find("shared_use"), std::string::npos);
}

TEST(Life, FirmwareChangesAreEventsFirst)
{
    Life ward;
    ward.runSet("before", "2026-05-04T07:00", "60", "300");
    const auto describe = [&](const char* time, const char* version) {
        ward.goTo(time);
        acts::MeterDescribed file { ward.at(time), base::MeterId("M1"), base::OperatorId("C1") };
        file.firmware = version;
        return ward.refusalOf(file);
    };
    EXPECT_EQ(describe("2026-05-04T08:00", "1.0"), "");
    EXPECT_EQ(describe("2026-05-04T08:01", "1.0"), "") << "said again";
    EXPECT_NE(describe("2026-05-04T08:02", "1.1").find("software-updated"), std::string::npos);
    ward.goTo("2026-05-04T09:00");
    ward.incident(IncidentKind::SoftwareUpdated, "2026-05-04T09:00", "M1", "C1");
    EXPECT_EQ(ward.fitness("2026-05-04T09:01").state, MeterState::OnHold);
    ward.runSet("after", "2026-05-04T09:10", "60", "300");
    ward.goTo("2026-05-04T09:20");
    const acts::ReturnStep signature { ward.at("2026-05-04T09:20"), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed,
        {} };
    EXPECT_NE(ward.refusalOf(signature).find("--firmware"), std::string::npos);
    EXPECT_EQ(describe("2026-05-04T09:20", "1.1"), "");
    ward.record(signature);
    EXPECT_TRUE(ward.fitness("2026-05-04T09:21").usable);
    EXPECT_TRUE(ward.set("after").judged.segmentStart) << "statistics begin again";
}

TEST(Life, NobodyButTheCoordinatorDescribesOrAccepts)
{
    Life ward;
    ward.goTo("2026-05-04T08:00");
    const std::pair<const char*, const char*> refused[] { { "N1", "coordinator" }, { "I1", "inspector" } };
    for (const auto& [person, says] : refused) {
        acts::MeterDescribed file { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId(person) };
        file.maker = "Maker";
        const acts::AcceptanceChecked check { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId(person),
            AcceptanceItem::Identity, YesNo::Yes, {} };
        EXPECT_NE(ward.refusalOf(file).find(says), std::string::npos) << person;
        EXPECT_NE(ward.refusalOf(check).find(says), std::string::npos) << person;
    }
    acts::MeterMoved moved { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId("I1"), MeterState::OnHold, {},
        "looks odd" };
    EXPECT_NE(ward.refusalOf(moved), "");
    moved.by = base::OperatorId("N1");
    ward.record(moved); // anyone on the ward stops a meter: meter, state, reason
    EXPECT_EQ(ward.fitness("2026-05-04T08:01").state, MeterState::OnHold);
}

TEST(Life, CleaningKeepsAgentAndContactTimeAndIsOverdueByPolicy)
{
    Ground ground;
    ground.policy = { { "cleaning_interval", "1 d" } };
    Life ward(ground);
    ward.cleaned("2026-05-04T06:00");
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    EXPECT_TRUE(ward.fitness("2026-05-04T08:00").usable);
    ward.runSet("next", "2026-05-05T05:30", "60", "300");
    EXPECT_EQ(codes(ward.fitness("2026-05-05T06:00")), "cleaning-overdue");
    acts::IncidentReported hasty { ward.at("2026-05-05T06:10"), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Cleaned,
        {} };
    ward.goTo("2026-05-05T06:10");
    hasty.contactTimeKept = YesNo::No;
    EXPECT_NE(ward.refusalOf(hasty).find("contact time"), std::string::npos);
    ward.cleaned("2026-05-05T06:20");
    EXPECT_TRUE(ward.fitness("2026-05-05T06:21").usable);
    auto reader = ward.reader();
    const auto incidents = reader.incidents(base::MeterId("M1"));
    EXPECT_EQ(incidents->back().act.agent, "wipe 3");
    EXPECT_EQ(incidents->back().act.contactTimeKept, YesNo::Yes);
}

TEST(Story, S15_WrongUnitWithdrawsAndLooksBackToTheLastProof)
{
    Life ward;
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T13:00");
    Setting mmol;
    mmol.unit = base::GlucoseUnit::MmolPerL;
    auto run = ward.aRun("noon", Level::Low, "3.4", mmol);
    run.question = "Which unit does the meter show?";
    run.answer = "mmol/L";
    const auto noon = ward.record(run).set;
    ASSERT_TRUE(noon);
    EXPECT_EQ(noon->runs.front().judged.invalidBecause, std::vector<std::string> { "unit-mismatch" });
    EXPECT_EQ(toText(noon->runs.front().run.result), "3.4") << "stored as displayed";
    EXPECT_EQ(noon->runs.front().run.unit, base::GlucoseUnit::MmolPerL) << "and never converted";
    EXPECT_EQ(noon->runs.front().run.answer, "mmol/L");

    ward.incident(IncidentKind::WrongUnit, "2026-05-04T13:00");
    const Fitness out = ward.fitness("2026-05-04T13:01");
    EXPECT_EQ(out.state, MeterState::Withdrawn);
    EXPECT_NE(reason(out, "wrong-unit"), nullptr);
    EXPECT_EQ(out.advice, Advice::Withdraw);
    auto reader = ward.reader();
    const auto lookbacks = reader.lookbacks(base::MeterId("M1"));
    ASSERT_EQ(lookbacks->size(), 1U);
    EXPECT_EQ(lookbacks->front().lookback.from, ward.at("2026-05-04T07:02")) << "the set that was accepted in the right unit";
    EXPECT_EQ(lookbacks->front().lookback.to, ward.at("2026-05-04T13:00"));
    EXPECT_EQ(lookbacks->front().lookback.cause, "wrong-unit");
    ward.runSet("after", "2026-05-04T13:10", "60", "300");
    ward.runSet("again", "2026-05-04T13:20", "60", "300");
    ward.goTo("2026-05-04T13:30");
    EXPECT_NE(ward.refusalOf(acts::ReturnStep {
                  ward.at("2026-05-04T13:30"), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed, {} }),
        "")
        << "only the coordinator, after an inspection";
}

TEST(Story, S11_LevelSwappedIsFiledWithQuestionAndAnswer)
{
    Life ward;
    // "yes": filed as low, with the low vial.
    ward.goTo("2026-05-04T07:00");
    auto low = ward.aRun("yes", Level::Low, "61");
    low.question = "Was it the high or the low control?";
    EXPECT_NE(ward.refusalOf(low).find("--answer"), std::string::npos);
    low.answer = "low";
    const auto filed = ward.record(low).set;
    ASSERT_TRUE(filed);
    EXPECT_EQ(filed->runs.front().judged.verdict, Verdict::Accepted);
    // "no": a failed high; the value is never relabelled.
    ward.goTo("2026-05-04T07:05");
    auto high = ward.aRun("no", Level::High, "61");
    high.question = "Was it the high or the low control?";
    high.answer = "high";
    const auto failed = ward.record(high).set;
    ASSERT_TRUE(failed);
    EXPECT_EQ(failed->judged.verdict, Verdict::Rejected);
    EXPECT_EQ(failed->runs.front().run.level, Level::High);
    for (const char* id : { "yes", "no" }) {
        const SetRecord stored = ward.set(id);
        EXPECT_EQ(stored.runs.front().run.question, "Was it the high or the low control?") << id;
        EXPECT_TRUE(stored.runs.front().run.answer) << id;
    }
    EXPECT_EQ(ward.fitness("2026-05-04T07:06").state, MeterState::OnHold);
    // Said low, with the vial of the high one: the vial speaks, the run is invalid.
    ward.goTo("2026-05-04T07:10");
    auto mixed = ward.aRun("mixed", Level::Low, "61");
    mixed.controlVial = base::ControlVialId("H1");
    EXPECT_EQ(ward.record(mixed).set->runs.front().judged.invalidBecause.front(), "level-mismatch");
}

TEST(Story, S45_TheBatteryResetsTheClockAndTheRunsKeepWorkstationTime)
{
    Life ward;
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T10:00");
    ward.incident(IncidentKind::BatteryChanged, "2026-05-04T10:00");
    ward.record(acts::IncidentReported {
        ward.at("2026-05-04T10:00"), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::ClockWrong, "shows 2020-01-01 00:04" });
    const SetRecord after = ward.runSet("after", "2026-05-04T10:10", "60", "300");
    EXPECT_EQ(after.runs.front().run.at, ward.at("2026-05-04T10:10"));
    auto reader = ward.reader();
    EXPECT_EQ(reader.incidents(base::MeterId("M1"))->back().act.detail, "shows 2020-01-01 00:04") << "the difference is on record";
    ward.goTo("2026-05-04T10:13");
    const acts::ReturnStep signature { ward.at("2026-05-04T10:13"), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed,
        {} };
    EXPECT_NE(ward.refusalOf(signature).find("inspected"), std::string::npos) << "clock and unit were not looked at";
    EXPECT_EQ(ward.stateAt("2026-05-04T10:14"), MeterState::OnHold);
}

} // namespace mk::journeys
