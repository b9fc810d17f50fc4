// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about failed controls: the ladder, its causes, nonconformities and look-backs; expectations from handbook 16 with 4.6 and 7.1.
#include "journeys/ladder_ward.h"
#include "store/read/failure_patterns.h"
#include "words/patterns.h"

#include <algorithm>

namespace mk::journeys {

TEST(Story, S04_FailureTechniquePass)
{
    LadderWard ward;
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "78", ward.onV7);
    EXPECT_EQ(ward.world.fitness("2026-05-04T06:50").state, MeterState::OnHold);
    EXPECT_EQ(ward.ladder("2026-05-04T06:50").step, 1);
    EXPECT_EQ(ward.nextOf("2026-05-04T06:50"), "Check the technique, then repeat with a new strip");
    EXPECT_TRUE(ward.lookbacks().empty()) << "nothing is known yet of the cause";

    ward.world.goTo("2026-05-04T06:52");
    ward.world.record(
        acts::TechniqueChecked { ward.world.at("2026-05-04T06:52"), kM1, base::OperatorId("N1"), {}, "first-drop-wiped", {} });
    EXPECT_EQ(ward.ladder("2026-05-04T06:52").step, 2);
    EXPECT_EQ(ward.nextOf("2026-05-04T06:52"), "Repeat once with a new strip from the same vials");

    ward.world.run("S", "2026-05-04T06:55", Level::Low, "62", ward.onV7);
    const SetRecord set = ward.world.run("S", "2026-05-04T06:57", Level::High, "298", ward.onV7);
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.judged.attempt, 2);
    ASSERT_EQ(set.runs.size(), 3U);
    EXPECT_EQ(toText(set.runs.front().run.result), "78") << "the failed value stays";
    EXPECT_TRUE(ward.world.fitness("2026-05-04T06:57").usable);

    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "random");
    EXPECT_EQ(lookbacks.front().lookback.from, ward.world.at("2026-05-03T07:02")) << "the last run of the last accepted set";
    EXPECT_EQ(lookbacks.front().lookback.to, ward.world.at("2026-05-04T06:50")) << "when the meter was stopped";
    EXPECT_EQ(lookbacks.front().lookback.direction, "low control +30.0 %");
    EXPECT_TRUE(ward.lookbacks("M4").empty());
    EXPECT_TRUE(ward.nonconformities().empty());
    const Fitness afterwards = ward.world.fitness("2026-05-04T06:57");
    const Reason* open = reason(afterwards, "look-back-open");
    ASSERT_NE(open, nullptr);
    EXPECT_FALSE(open->blocks);

    auto closing = ward.closing(lookbacks.front().seq, "random", "2026-05-04T09:00");
    closing.by = base::OperatorId("N1");
    EXPECT_NE(ward.world.refusalOf(closing).find("only the coordinator"), std::string::npos);
    closing.by = base::OperatorId("C1");
    ward.world.record(closing);
    EXPECT_EQ(reason(ward.world.fitness("2026-05-04T09:00"), "look-back-open"), nullptr);
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S04_APolicyMaySetTheShortLookbackOff)
{
    const std::vector<std::pair<std::string, std::string>> waived { { "lookback_after_repeat", "no" } };
    LadderWard ward(waived);
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "78", ward.onV7);
    ward.world.run("S", "2026-05-04T06:55", Level::Low, "62", ward.onV7);
    EXPECT_EQ(ward.world.run("S", "2026-05-04T06:57", Level::High, "298", ward.onV7).judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.lookbacks().empty());
}

TEST(Story, S04_AGoodRepeatAfterAShiftRuleClearsNothing)
{
    LadderWard ward(olderGround().policy);
    ward.world.runSet("one", "2026-05-04T06:30", "66.5", "300", ward.onV7);   // +2.2 SD warns
    ward.world.run("two", "2026-05-05T06:30", Level::Low, "66.8", ward.onV7); // the second beyond +2 SD: 2-2s
    EXPECT_EQ(ward.world.fitness("2026-05-05T06:30").state, MeterState::OnHold);
    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "shift");
    EXPECT_EQ(lookbacks.front().lookback.from, ward.world.at("2026-05-04T06:30")) << "the first run of the violating sequence";
    EXPECT_EQ(lookbacks.front().lookback.alternativeFrom, ward.world.at("2026-05-03T07:02")) << "the accepted set before it";

    ward.world.run("two", "2026-05-05T06:35", Level::Low, "60", ward.onV7);
    ward.world.run("two", "2026-05-05T06:37", Level::High, "300", ward.onV7);
    EXPECT_EQ(ward.world.fitness("2026-05-05T06:37").state, MeterState::OnHold);
    EXPECT_EQ(ward.lookbacks().size(), 1U) << "no second one that calls it random";

    // The reviewer may choose the other start, and says why.
    auto closing = ward.closing(lookbacks.front().seq, "reviewed", "2026-05-05T09:00");
    closing.chosenStart = ward.world.at("2026-05-03T07:02");
    EXPECT_NE(ward.world.refusalOf(closing).find("say why"), std::string::npos);
    closing.why = "the shift may have begun before the first signal";
    closing.chosenStart = ward.world.at("2026-05-02T07:00");
    EXPECT_NE(ward.world.refusalOf(closing), "") << "only the two starts on offer";
    closing.chosenStart = ward.world.at("2026-05-03T07:02");
    ward.world.record(closing);
}

TEST(Story, S05_ControlVialBad)
{
    LadderWard ward;
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "78", ward.onV7);
    ward.world.run("S", "2026-05-04T06:54", Level::Low, "77", ward.onV7);
    EXPECT_EQ(ward.ladder("2026-05-04T06:54").step, 3);
    EXPECT_EQ(ward.nextOf("2026-05-04T06:54"), "Open a new control vial and run the level again");
    Setting newControl = ward.onV7;
    newControl.low = "L2";
    ward.world.run("S", "2026-05-04T06:58", Level::Low, "61", newControl);
    EXPECT_FALSE(ward.world.reader().controlVial(base::ControlVialId("L1")).value()->ended) << "not before the set is accepted";
    ward.world.goTo("2026-05-04T07:00");
    const auto outcome = ward.world.record(ward.world.aRun("S", Level::High, "300", newControl));
    EXPECT_TRUE(
        std::ranges::any_of(outcome.consequences, [](const store::Entry& e) { return e.act == "vial.ended" && e.subject == "L1"; }));

    auto reader = ward.world.reader();
    const auto* old = reader.controlVial(base::ControlVialId("L1")).value();
    ASSERT_TRUE(old->ended);
    EXPECT_EQ(old->ended->act.how, VialEndKind::Discarded);
    EXPECT_EQ(old->ended->act.by.value, "N1");
    EXPECT_FALSE(reader.controlVial(base::ControlVialId("L2")).value()->ended);
    EXPECT_FALSE(reader.controlVial(base::ControlVialId("H1")).value()->ended);
    EXPECT_FALSE(reader.stripVial(base::StripVialId("V7")).value()->ended);

    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "control-material");
    EXPECT_EQ(lookbacks.front().lookback.scope, "control vial L1, meters judged with it since it was opened: M1, M4");
    EXPECT_TRUE(ward.lookbacks("M4").empty()) << "a control vial has no patients of its own";
    ward.world.record(ward.closing(lookbacks.front().seq, "control material", "2026-05-04T09:00"));
    EXPECT_TRUE(ward.world.fitness("2026-05-04T09:00").usable);
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S06_StripVialBad)
{
    LadderWard ward;
    Setting newControl = ward.onV7, newStrip = ward.onV7;
    newControl.low = newStrip.low = "L2";
    newStrip.strip = "V8";
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "78", ward.onV7);
    ward.world.run("S", "2026-05-04T06:54", Level::Low, "77", ward.onV7);
    ward.world.run("S", "2026-05-04T06:58", Level::Low, "79", newControl);
    EXPECT_EQ(ward.ladder("2026-05-04T06:58").step, 4);
    EXPECT_EQ(ward.nextOf("2026-05-04T06:58"), "Open a new strip vial and run the level again");
    ward.world.run("S", "2026-05-04T07:02", Level::Low, "60", newStrip);
    EXPECT_EQ(ward.world.run("S", "2026-05-04T07:04", Level::High, "300", newStrip).judged.verdict, Verdict::Accepted);

    auto reader = ward.world.reader();
    const auto* old = reader.stripVial(base::StripVialId("V7")).value();
    ASSERT_TRUE(old->ended);
    EXPECT_EQ(old->ended->act.how, VialEndKind::Quarantined);
    EXPECT_FALSE(reader.stripVial(base::StripVialId("V8")).value()->ended);
    EXPECT_FALSE(reader.controlVial(base::ControlVialId("L1")).value()->ended) << "the control was not the cause";
    EXPECT_EQ(ward.world.fitness("2026-05-04T07:04").state, MeterState::InService) << "M1 returns";
    EXPECT_TRUE(ward.world.fitness("2026-05-04T07:04").usable);

    const auto m1 = ward.lookbacks(), m4 = ward.lookbacks("M4");
    ASSERT_EQ(m1.size(), 1U);
    ASSERT_EQ(m4.size(), 1U);
    EXPECT_EQ(m1.front().lookback.scope, "strip vial V7");
    EXPECT_EQ(m1.front().lookback.from, ward.world.at("2026-05-03T07:02"));
    EXPECT_EQ(m1.front().lookback.to, ward.world.at("2026-05-04T06:50"));
    EXPECT_EQ(m4.front().lookback.scope, "strip vial V7");
    EXPECT_EQ(m4.front().lookback.from, ward.world.at("2026-05-03T08:02"));
    EXPECT_EQ(m4.front().lookback.to, ward.world.at("2026-05-04T07:04")) << "up to the moment the vial was locked away";
    EXPECT_TRUE(ward.nonconformities().empty());
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S07_LadderExhausted)
{
    LadderWard ward;
    ward.failAll();
    const Fitness after = ward.world.fitness("2026-05-04T07:15");
    EXPECT_EQ(after.state, MeterState::Withdrawn);
    EXPECT_NE(reason(after, "ladder-exhausted"), nullptr) << codes(after);
    EXPECT_EQ(after.advice, Advice::Withdraw);
    EXPECT_EQ(ward.world.entriesOf("meter.withdrawn").size(), 1U);

    const auto ncs = ward.nonconformities();
    ASSERT_EQ(ncs.size(), 1U);
    EXPECT_EQ(ncs.front().opened.type, "ladder-exhausted");
    EXPECT_EQ(ncs.front().state, NcState::Open);
    EXPECT_EQ(ncs.front().opened.by.value, "N1");
    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.from, ward.world.at("2026-05-03T07:02"));
    EXPECT_EQ(lookbacks.front().lookback.to, ward.world.at("2026-05-04T07:00")) << "it was stopped with the first failure";
    EXPECT_FALSE(ward.world.reader().stripVial(base::StripVialId("V7")).value()->ended);

    // Two accepted sets; the nurse cannot return it, the coordinator can.
    Setting fresh = ward.onV7;
    fresh.low = "L2", fresh.strip = "V8";
    ward.world.runSet("back-1", "2026-05-05T07:00", "60", "300", fresh);
    ward.world.goTo("2026-05-05T07:10");
    const auto sign = [&](const char* person) {
        return acts::ReturnStep { ward.world.at("2026-05-05T07:10"), kM1, base::OperatorId(person), ReturnStepKind::Signed, "scratched" };
    };
    EXPECT_NE(ward.world.refusalOf(sign("C1")), "") << "one accepted set is not enough";
    ward.world.runSet("back-2", "2026-05-05T07:10", "61", "301", fresh);
    EXPECT_EQ(ward.world.fitness("2026-05-05T07:12").state, MeterState::Withdrawn);
    EXPECT_NE(ward.world.refusalOf(sign("N1")).find("only the coordinator"), std::string::npos);
    auto signing = sign("C1");
    ward.world.goTo("2026-05-05T07:20");
    signing.at = ward.world.at("2026-05-05T07:20");
    EXPECT_NE(ward.world.refusalOf(signing).find("look-back"), std::string::npos);
    ward.world.record(acts::LookbackAssigned {
        signing.at, base::OperatorId("C1"), ward.lookbacks().front().seq, "Dr Marsh", base::parseDate("2026-05-12").value() });
    ward.world.record(signing);
    EXPECT_EQ(ward.world.fitness("2026-05-05T07:20").state, MeterState::InService);
    EXPECT_EQ(ward.lookbacks().size(), 1U) << "good sets after a withdrawal tell nothing of its cause";
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S07_ItsNonconformityWaitsForTheLookback)
{
    LadderWard ward;
    ward.failAll();
    ward.world.goTo("2026-05-06T10:00");
    EXPECT_NE(ward.world.refusalOf(ward.ncStep(NcState::ActionDone, "x")).find("'contained' comes next"), std::string::npos);
    ward.world.record(ward.ncStep(NcState::Contained, "labelled and in the cupboard", "N1"));
    EXPECT_NE(ward.world.refusalOf(ward.ncStep(NcState::CauseFound, "the sensor is scratched")).find("name the cause"), std::string::npos);
    auto cause = ward.ncStep(NcState::CauseFound, "the sensor is scratched");
    cause.cause = CauseClass::Meter;
    ward.world.record(cause);
    auto action = ward.ncStep(NcState::ActionDone, "sent to the maker");
    EXPECT_NE(ward.world.refusalOf(action).find("owner"), std::string::npos);
    action.owner = "C1", action.due = base::parseDate("2026-05-20").value(), action.report = "maker, letter of 6 May";
    ward.world.record(action);
    ward.world.record(ward.ncStep(NcState::EffectivenessChecked, "twenty sets inside"));
    EXPECT_NE(ward.world.refusalOf(ward.ncStep(NcState::Closed, "done")).find("undecided"), std::string::npos);
    EXPECT_NE(ward.world.refusalOf(ward.ncStep(NcState::Closed, "done", "N1")).find("only the coordinator"), std::string::npos);

    auto lookback = ward.closing(ward.lookbacks().front().seq, "no result in doubt", "2026-05-06T10:00");
    lookback.reviewed = decimal("3"), lookback.doubtful = decimal("4");
    EXPECT_NE(ward.world.refusalOf(lookback), "") << "more doubtful than reviewed";
    lookback.doubtful = decimal("1.5");
    EXPECT_NE(ward.world.refusalOf(lookback), "") << "results are whole";
    lookback.doubtful = decimal("1"), lookback.why = "patient 20260504";
    EXPECT_NE(ward.world.refusalOf(lookback).find("patient"), std::string::npos);
    lookback.why.reset();
    ward.world.record(lookback);
    ward.world.record(ward.ncStep(NcState::Closed, "done"));

    const Nonconformity closed = ward.nonconformities().front();
    EXPECT_EQ(closed.state, NcState::Closed);
    EXPECT_EQ(closed.owner, "C1");
    EXPECT_EQ(closed.cause, CauseClass::Meter);
    EXPECT_EQ(closed.effectiveness, "twenty sets inside");
    EXPECT_EQ(closed.reports, std::vector<std::string> { "maker, letter of 6 May" });
    ward.world.record(ward.ncStep(NcState::Open, "it failed again"));
    EXPECT_EQ(ward.nonconformities().front().state, NcState::Open);
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S07_ATakenOverLadderWithdrawsAtItsOwnTimeAndAPassedOneAsksNothing)
{
    Ground empty;
    empty.empty = true;
    empty.day = "2026-06-01";
    const auto files = [](const std::string& last) {
        auto all = groundFiles();
        all["strip_vials.csv"] += "V8,S1,2026-05-01T05:00,W1\n";
        all["control_vials.csv"] += "L2,CL,2026-05-01T05:00,W1\n";
        all["control_runs.csv"] = "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n"
                                  "A,2026-05-03T07:00,M1,N1,V1,low,L1,60,mg/dL,,,\nA,2026-05-03T07:02,M1,N1,V1,high,H1,300,mg/dL,,,\n"
                                  "B,2026-05-04T07:00,M1,N1,V1,low,L1,78,mg/dL,,,\nB,2026-05-04T07:04,M1,N1,V1,low,L1,79,mg/dL,,,\n"
                                  "B,2026-05-04T07:08,M1,N1,V1,low,L1,79,mg/dL,,,\n" // a third on the same vials is taken over as it was
                                  "B,2026-05-04T07:10,M1,N1,V1,low,L2,80,mg/dL,,,\n"
                                  "B,2026-05-04T07:15,M1,N1,V8,low,L2,"
            + last + ",mg/dL,,,\nB,2026-05-04T07:17,M1,N1,V8,high,H1,300,mg/dL,,,\n";
        return all;
    };
    WardWorld exhausted(empty), passed(empty);
    exhausted.import(files("81"));
    EXPECT_NE(exhausted.fitness("2026-05-04T07:14").state, MeterState::Withdrawn);
    EXPECT_EQ(exhausted.fitness("2026-05-04T07:17").state, MeterState::Withdrawn);
    EXPECT_EQ(exhausted.reader().lookbacks(kM1).value().size(), 1U);
    EXPECT_EQ(exhausted.entriesOf("nonconformity.opened").size(), 1U);
    EXPECT_TRUE(exhausted.verification().holds());

    passed.import(files("60"));
    EXPECT_TRUE(passed.fitness("2026-05-04T07:17").usable);
    EXPECT_TRUE(passed.reader().lookbacks(kM1).value().empty());
    EXPECT_EQ(passed.entriesOf("vial.ended").size(), 0U);
    EXPECT_EQ(passed.entriesOf("nonconformity.opened").size(), 0U);
}

TEST(Story, S13_LoThenAGoodRepeatCountsOneFailedFirstAttempt)
{
    LadderWard ward;
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "LO", ward.onV7);
    ward.world.run("S", "2026-05-04T06:54", Level::Low, "59", ward.onV7);
    const SetRecord set = ward.world.run("S", "2026-05-04T06:56", Level::High, "300", ward.onV7);
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.judged.attempt, 2);
    EXPECT_EQ(set.runs.size(), 3U) << "both are stored";
    EXPECT_EQ(
        std::ranges::count_if(set.runs, [](const RunRecord& r) { return r.judged.verdict == Verdict::Rejected && r.judged.attempt == 1; }),
        1);
    ASSERT_EQ(ward.lookbacks().size(), 1U);
    EXPECT_EQ(ward.lookbacks().front().lookback.direction, "low control LO");
}

TEST(Story, S13_AnErrorCodeIsNoResultAndIsRepeatedOnce)
{
    LadderWard ward;
    const SetRecord error = ward.world.run("S", "2026-05-04T06:50", Level::Low, "ERR:E-3", ward.onV7);
    EXPECT_EQ(error.judged.verdict, Verdict::Partial);
    EXPECT_EQ(ward.world.fitness("2026-05-04T06:50").state, MeterState::InService) << "no result is no failed control";
    EXPECT_EQ(ward.nextOf("2026-05-04T06:50"), "Repeat once with a new strip from the same vials");
    ward.world.run("S", "2026-05-04T06:52", Level::Low, "ERR:E-3", ward.onV7);
    ward.world.goTo("2026-05-04T06:54");
    const std::string refusal = ward.world.refusalOf(ward.world.aRun("S", Level::Low, "60", ward.onV7));
    EXPECT_NE(refusal.find("open a new strip vial"), std::string::npos) << refusal;
    Setting fresh = ward.onV7;
    fresh.strip = "V8";
    ward.world.run("S", "2026-05-04T06:55", Level::Low, "60", fresh);
    EXPECT_EQ(ward.world.run("S", "2026-05-04T06:57", Level::High, "300", fresh).judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.lookbacks().empty()) << "nothing failed";
    EXPECT_FALSE(ward.world.reader().stripVial(base::StripVialId("V7")).value()->ended);
}

TEST(Story, S40_RepeatUntilPass)
{
    LadderWard ward;
    const char* kResults[] = { "78", "79", "77", "80", "62" };
    for (int i = 0; i < 5; ++i) {
        ward.world.goTo("2026-05-04T06:5" + std::to_string(i));
        auto run = ward.world.aRun(i < 3 ? "S" : "T", Level::Low, kResults[i], ward.onV7);
        if (i >= 3)
            run.repeatOf = "S"; // in a set of its own
        if (i >= 2) {
            const base::Seq before = ward.world.head();
            const std::string refusal = ward.world.refusalOf(run);
            EXPECT_NE(refusal.find("deviation"), std::string::npos) << refusal;
            EXPECT_EQ(ward.world.head(), before);
            run.deviation = "no other vial on the ward";
        }
        ward.world.record(run);
    }
    ward.world.run("T", "2026-05-04T06:56", Level::High, "300", ward.onV7);
    EXPECT_TRUE(ward.world.fitness("2026-05-04T06:56").usable);

    auto reader = ward.world.reader();
    const auto climbs = registry::climbsOf(reader, kM1, ward.world.at("2026-05-01T00:00"), ward.world.at("2026-05-04T12:00")).value();
    ASSERT_EQ(climbs.size(), 1U);
    EXPECT_EQ(climbs.front().rounds, 5) << "attempts per accepted set, over all its sets";
    EXPECT_EQ(climbs.front().acceptedSet, base::SetId("T"));
    EXPECT_EQ(std::ranges::count_if(climbs.front().attempts, [](const LadderAttempt& a) { return a.deviation; }), 3);
    const auto patterns = store::patternsOf(reader, kM1, ward.world.at("2026-05-04T12:00")).value();
    const auto late = std::ranges::find(patterns, FailureSubject::LatePass, &FailurePattern::kind);
    ASSERT_NE(late, patterns.end());
    EXPECT_EQ(late->count, 5);
    for (const auto& pattern : patterns)
        for (const char* blame : { "fault", "careless", "wrong", "blame", "cheat" })
            EXPECT_FALSE(words::patternSaid(pattern).contains(QLatin1String(blame))) << words::patternSaid(pattern).toStdString();
    EXPECT_TRUE(ward.world.verification().holds());
}

TEST(Story, S40_OfOneCommandTheAdmissibleAttemptsAreRecordedAndStopTheMeter)
{
    LadderWard ward;
    ward.world.goTo("2026-05-04T06:50");
    std::vector<store::NewAct> batch;
    for (const char* result : { "78", "79", "62" }) {
        store::NewAct attempt { ward.world.aRun("S", Level::Low, result, ward.onV7), {} };
        attempt.mayBeLeftOut = true;
        batch.push_back(attempt);
    }
    const auto outcomes = ward.world.registrar().record(batch, { {}, "test" });
    ASSERT_TRUE(outcomes);
    ASSERT_EQ(outcomes->size(), 3U);
    EXPECT_FALSE((*outcomes)[1].leftOut);
    EXPECT_TRUE((*outcomes)[2].leftOut);
    EXPECT_EQ(ward.world.fitness("2026-05-04T06:50").state, MeterState::OnHold);
}

TEST(Story, S40_AThirdAttemptInOneBatchIsRefusedToo)
{
    LadderWard ward;
    ward.world.goTo("2026-05-04T06:50");
    std::vector<store::NewAct> batch;
    for (const char* result : { "78", "79", "62" })
        batch.push_back({ ward.world.aRun("S", Level::Low, result, ward.onV7), {} });
    const auto outcomes = ward.world.registrar().record(batch, { {}, "test" });
    ASSERT_FALSE(outcomes);
    EXPECT_NE(outcomes.error().text.find("deviation"), std::string::npos);
}

} // namespace mk::journeys
