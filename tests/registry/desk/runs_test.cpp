// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk_ward.h"

namespace mk::registry::sample {
namespace {

TEST(ARun, NamesWhatIsOnRecord)
{
    DeskWard ward;
    acts::ControlRun run = ward.run("A", Level::Low, "60");
    run.stripVial = base::StripVialId("V9");
    EXPECT_EQ(ward.faultOf(run), FaultKind::NotFound);
    run.stripVial = base::StripVialId("V1");
    run.supervisor = run.by;
    EXPECT_EQ(ward.faultOf(run), FaultKind::BadInput);
    run.supervisor.reset();
    run.reason = "D15";
    EXPECT_EQ(ward.faultOf(run), FaultKind::BadInput);
    run.reason = "D14";
    EXPECT_EQ(ward.faultOf(run), std::nullopt);
}

TEST(ARun, LiesWithinWhatTheMeterCanShow)
{
    DeskWard ward;
    EXPECT_EQ(ward.faultOf(ward.run("A", Level::Low, "19")), FaultKind::BadInput);
    EXPECT_EQ(ward.faultOf(ward.run("A", Level::Low, "LO")), std::nullopt);
}

TEST(ARun, DoesNotJoinAnotherMetersSet)
{
    DeskWard ward;
    ward.record(ward.run("A", Level::Low, "60"));
    acts::ControlRun other = ward.run("A", Level::High, "300");
    other.meter = base::MeterId("M2");
    EXPECT_EQ(ward.faultOf(other), FaultKind::Conflict);
}

TEST(ARun, OfTheFutureIsRefused)
{
    DeskWard ward;
    acts::ControlRun run = ward.run("A", Level::Low, "60");
    run.at = base::plusMs(run.at, 60'000);
    EXPECT_EQ(ward.faultOf(run), FaultKind::BadInput);
}

TEST(ARun, TellsWhatSomebodyElseHasBegun)
{
    DeskWard ward;
    ward.record(ward.run("A", Level::Low, "60"));
    acts::ControlRun other = ward.run("B", Level::Low, "61");
    other.by = base::OperatorId("N2");
    desk::MeterWorks works;
    const desk::Occasion occasion { false, ward.facts.now };
    desk::Judging judging(ward.facts, ward.facts, occasion, works);
    const auto admitted = desk::admit({ ward.facts, ward.facts, judging, occasion, "N2" }, other);
    ASSERT_TRUE(admitted);
    EXPECT_EQ(admitted->told.size(), 1U);
    EXPECT_FALSE(admitted->askedBeyondRuns);
}

TEST(ASet, ThatFailsHoldsItsMeterUntilOneHolds)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    EXPECT_EQ(ward.verdict("A"), Verdict::Rejected);
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "control-rejected" });
    EXPECT_EQ(ward.state(), MeterState::OnHold);
    ward.goTo("2026-05-04T08:10");
    ward.runSet("B", "60", "300");
    EXPECT_TRUE(ward.openStops().empty());
    EXPECT_EQ(ward.state(), MeterState::InService);
    const auto lookbacks = ward.facts.all<acts::LookbackOpened>();
    ASSERT_EQ(lookbacks.size(), 1U) << "the repeat held: what came between is looked at";
    EXPECT_EQ(lookbacks.front().act.cause, "random");
}

TEST(ASet, TakenOverIsHeldFromItsOwnTime)
{
    DeskWard ward;
    ward.imported = true;
    const acts::ControlRun run = ward.run("A", Level::Low, "90");
    ward.goTo("2026-05-06T08:00");
    ASSERT_TRUE(ward.tryAct(run));
    ASSERT_EQ(ward.openStops().size(), 1U);
    EXPECT_EQ(ward.openStops().front().stop.at, run.at);
}

TEST(TheLadder, AllowsOneRepeatOnTheSameVials)
{
    DeskWard ward;
    ward.runSet("A", "90", "300");
    ward.goTo("2026-05-04T08:05");
    ward.record(ward.run("B", Level::Low, "91"));
    ward.goTo("2026-05-04T08:10");
    acts::ControlRun third = ward.run("C", Level::Low, "60");
    EXPECT_EQ(ward.faultOf(third), FaultKind::Refused);
    third.controlVial = base::ControlVialId("L2");
    EXPECT_EQ(ward.faultOf(third), std::nullopt);
}

TEST(TheLadder, CountsThreeRunsOfOneBatch)
{
    DeskWard ward;
    const base::Done done = ward.tryBatch(
        { ward.run("A", Level::Low, "90"), ward.run("A", Level::Low, "91"), ward.run("A", Level::Low, "60") });
    ASSERT_FALSE(done);
    EXPECT_EQ(done.error().kind, FaultKind::Refused);
}

TEST(TheLadder, JudgesAllRunsOfABatchThatItHadToLookInto)
{
    DeskWard ward;
    const base::Done done = ward.tryBatch({ ward.run("A", Level::Low, "60"), ward.run("A", Level::Low, "61"),
        ward.run("A", Level::Low, "62"), ward.run("A", Level::High, "300") });
    ASSERT_TRUE(done) << base::plainly(done.error());
    const auto set = ward.facts.set(base::SetId("A")).value();
    ASSERT_TRUE(set);
    EXPECT_EQ(set->judged.runs.size(), 4U);
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
}

TEST(ARepeat, NamesAFailedSetOfItsMeterThatNothingEnded)
{
    DeskWard ward;
    const auto repeatOf = [&](const char* named, const char* set, const char* meter = "M1") {
        acts::ControlRun run = ward.run(set, Level::Low, "60");
        run.meter = base::MeterId(meter);
        run.repeatOf = named;
        return run;
    };
    ward.runSet("good", "60", "300");
    ward.goTo("2026-05-04T08:10");
    EXPECT_EQ(ward.codeOf(repeatOf("good", "A")), "repeat-of-no-failure");
    EXPECT_EQ(ward.codeOf(repeatOf("unheard", "A")), "repeat-of-no-failure");
    ward.runSet("bad", "90", "300");
    ward.goTo("2026-05-04T08:20");
    EXPECT_EQ(ward.codeOf(repeatOf("bad", "A", "M2")), "repeat-of-no-failure");
    ward.record(repeatOf("bad", "A"));
    acts::ControlRun high = repeatOf("bad", "A");
    high.level = Level::High;
    high.controlVial = base::ControlVialId("H1");
    high.result = Reading(base::Decimal::parse("300").value());
    ward.record(high);
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    ward.record(repeatOf("bad", "A"));
    ward.goTo("2026-05-05T08:00");
    EXPECT_EQ(ward.codeOf(repeatOf("bad", "B")), "repeat-of-ended-failure") << "another day's set counts";
}

TEST(ARepeat, OfAFileIsHeldToTheSame)
{
    DeskWard ward;
    ward.imported = true;
    const auto of = [&](const char* set, const char* named, Level level, const char* result) {
        acts::ControlRun run = ward.run(set, level, result);
        run.controlVial = base::ControlVialId(level == Level::Low ? "L1" : "H1");
        run.repeatOf = *named == '\0' ? std::nullopt : std::optional<std::string>(named);
        return Act(run);
    };
    std::vector<Act> rows { of("bad", "", Level::Low, "90"), of("bad", "", Level::High, "300") };
    ward.goTo("2026-05-04T08:10");
    rows.insert(rows.end(), { of("A", "bad", Level::Low, "60"), of("A", "bad", Level::High, "300") });
    ward.goTo("2026-05-05T08:00");
    ASSERT_TRUE(ward.tryBatch(rows));
    EXPECT_EQ(ward.verdict("A"), Verdict::Accepted);
    EXPECT_EQ(ward.codeOf(of("B", "bad", Level::Low, "60")), "repeat-of-ended-failure");
    EXPECT_EQ(ward.codeOf(of("B", "unheard", Level::Low, "60")), "repeat-of-no-failure");
}

TEST(AShift, OfAFileIsNotEndedByARepeatInItsSet)
{
    DeskWard ward;
    ward.facts.policy = policyFrom(PolicyPairs { { "profile", "older" } }).value();
    ward.imported = true;
    ward.runSet("one", "66.6", "300");
    ward.goTo("2026-05-05T08:00");
    ASSERT_TRUE(
        ward.tryBatch({ ward.run("two", Level::Low, "66.6"), ward.run("two", Level::High, "300"), ward.run("two", Level::Low, "60") }));
    EXPECT_EQ(ward.verdict("two"), Verdict::Rejected);
    ASSERT_EQ(ward.openStops().size(), 1U);
    EXPECT_TRUE(ward.openStops().front().stop.needsSignature);
    EXPECT_EQ(ward.state(), MeterState::OnHold);
}

TEST(ErrorCodes, HoldTheMeterAtTheThirdOfADay)
{
    DeskWard ward;
    acts::IncidentReported shown;
    shown.meter = base::MeterId("M1");
    shown.by = base::OperatorId("N1");
    shown.what = IncidentKind::ErrorCode;
    for (const char* time : { "2026-05-04T08:00", "2026-05-04T09:00" }) {
        ward.goTo(time);
        shown.at = ward.facts.now;
        ward.record(shown);
    }
    EXPECT_TRUE(ward.openStops().empty());
    ward.goTo("2026-05-05T07:59");
    shown.at = ward.facts.now;
    ward.record(shown);
    EXPECT_EQ(ward.openCauses(), std::vector<std::string> { "error-codes" });
}

} // namespace
} // namespace mk::registry::sample
