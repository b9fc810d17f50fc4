// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about one control set; expectations from handbook 16 with 4.3, 4.5, 6.3 and 8.4.
#include "journeys/ward_world.h"

#include "store/journal/canonical_json.h"

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using namespace registry;

const RunRecord& runOf(const SetRecord& set, Level level)
{
    const auto found = std::ranges::find_if(set.runs, [&](const RunRecord& run) { return run.run.level == level; });
    EXPECT_NE(found, set.runs.end());
    return *found;
}

bool hasRule(const acts::JudgedRun& run, std::string_view rule)
{
    return std::ranges::find(run.rules, rule) != run.rules.end();
}

std::string memberOf(const store::Entry& entry, std::string_view key)
{
    const auto body = store::Json::parse(entry.body);
    const auto* member = body ? body->find(key) : nullptr;
    return member != nullptr && member->text() != nullptr ? *member->text() : std::string();
}

} // namespace

TEST(Story, S01_RoutinePass)
{
    WardWorld ward;
    ward.runSet("Sunday", "2026-05-03T07:08", "60", "300");
    const Fitness before = ward.fitness("2026-05-04T06:59");
    EXPECT_TRUE(before.usable);
    EXPECT_EQ(before.until, ward.at("2026-05-04T07:10"));
    EXPECT_EQ(codes(before), "control-due");

    const SetRecord set = ward.runSet("Monday", "2026-05-04T07:00", "61", "305");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(set.judged.rules.empty());
    const Fitness after = ward.fitness("2026-05-04T07:02");
    EXPECT_TRUE(after.usable);
    EXPECT_EQ(after.until, ward.at("2026-05-05T07:02"));
    EXPECT_EQ(after.advice, Advice::Use);
    EXPECT_EQ(codes(after), "");
}

TEST(Story, S01_TheEndOfValidityItselfIsNoLongerCovered)
{
    WardWorld ward;
    ward.runSet("Monday", "2026-05-04T07:00", "61", "305");
    EXPECT_TRUE(ward.fitness("2026-05-05T07:01:59").usable);
    const Fitness due = ward.fitness("2026-05-05T07:02");
    EXPECT_FALSE(due.usable);
    EXPECT_EQ(codes(due), "control-overdue");
    EXPECT_FALSE(due.until);
}

TEST(Story, S02_RangeEdgeIsInRangeAndStillRejectedByTheRule)
{
    WardWorld ward;
    const SetRecord set = ward.runSet("edge", "2026-05-04T07:00", "72", "300");
    const RunRecord& low = runOf(set, Level::Low);
    EXPECT_EQ(low.judged.inRange, true);
    ASSERT_TRUE(low.judged.z);
    EXPECT_DOUBLE_EQ(*low.judged.z, 4.0);
    EXPECT_TRUE(hasRule(low.judged, "1-3s"));
    EXPECT_EQ(low.judged.verdict, Verdict::Rejected);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
}

TEST(Story, S02_OneAboveTheRangeIsOutsideIt)
{
    WardWorld ward;
    const SetRecord set = ward.runSet("beyond", "2026-05-04T07:00", "73", "300");
    EXPECT_EQ(runOf(set, Level::Low).judged.inRange, false);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
    const Fitness fitness = ward.fitness("2026-05-04T07:02");
    // z 4.3 and 0 combine to 3.06: beyond the first EWMA limit, which is 3 SD of one score (handbook 6.2).
    EXPECT_EQ(codes(fitness), "control-rejected no-control-yet not-in-service");
    EXPECT_EQ(fitness.state, MeterState::OnHold);
}

TEST(Story, S03_OneLevelOnlyDoesNotClear)
{
    WardWorld ward;
    ward.runSet("yesterday", "2026-05-03T07:00", "60", "300");
    const SetRecord alone = ward.run("today", "2026-05-04T07:10", Level::Low, "60");
    EXPECT_EQ(alone.judged.verdict, Verdict::Partial);
    const Fitness called = ward.fitness("2026-05-04T07:11");
    EXPECT_FALSE(called.usable);
    EXPECT_EQ(codes(called), "control-overdue set-partial");
}

TEST(Story, S03_AfterThirtyOneMinutesTheLowRunNoLongerCounts)
{
    WardWorld ward;
    ward.run("today", "2026-05-04T07:10", Level::Low, "60");
    const SetRecord late = ward.run("today", "2026-05-04T07:41", Level::High, "300");
    EXPECT_EQ(late.judged.verdict, Verdict::Partial);
    ASSERT_EQ(late.runs.size(), 2U) << "the low run stays on record";
    EXPECT_EQ(toText(runOf(late, Level::Low).run.result), "60");
    EXPECT_FALSE(ward.fitness("2026-05-04T07:42").usable);
}

TEST(Story, S03_ThirtyMinutesExactlyStillCount)
{
    WardWorld ward;
    ward.run("today", "2026-05-04T07:10", Level::Low, "60");
    EXPECT_EQ(ward.run("today", "2026-05-04T07:40", Level::High, "300").judged.verdict, Verdict::Accepted);
}

TEST(Story, S12_HiOnAControlIsAKindAndNeverANumber)
{
    WardWorld ward;
    const SetRecord set = ward.runSet("hi", "2026-05-04T07:00", "60", "HI");
    const RunRecord& high = runOf(set, Level::High);
    EXPECT_EQ(kindWord(high.run.result), "HI");
    EXPECT_EQ(high.judged.verdict, Verdict::Rejected);
    EXPECT_TRUE(high.judged.rules.empty()) << "rejected by kind; no rule is asked";
    EXPECT_FALSE(high.judged.z);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
    ASSERT_TRUE(high.judged.mean && high.judged.sd);
    EXPECT_EQ(high.judged.mean->typed(), "300");
    EXPECT_EQ(high.judged.sd->typed(), "9");
    for (const auto& entry : ward.entries()) {
        if (entry.act == "control.run" || entry.act == "control.judged") {
            EXPECT_EQ(entry.body.find("600"), std::string::npos) << entry.body;
        }
    }
}

TEST(Story, S12_LoThenAGoodRepeatIsAcceptedAfterRepeat)
{
    WardWorld ward;
    ward.run("lo", "2026-05-04T07:00", Level::Low, "LO");
    EXPECT_EQ(ward.fitness("2026-05-04T07:00").state, MeterState::OnHold);
    ward.run("lo", "2026-05-04T07:04", Level::Low, "59");
    const SetRecord set = ward.run("lo", "2026-05-04T07:06", Level::High, "300");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.judged.attempt, 2);
    EXPECT_EQ(set.runs.size(), 3U);
    EXPECT_TRUE(ward.fitness("2026-05-04T07:06").usable);
}

TEST(Story, S14_ARunIsOnRecordTheMomentItIsTyped)
{
    WardWorld ward;
    ward.run("cancelled", "2026-05-04T07:00", Level::Low, "78");
    ward.reopen(); // the window was closed before the verdict was read
    const SetRecord set = ward.set("cancelled");
    ASSERT_EQ(set.runs.size(), 1U);
    EXPECT_EQ(toText(set.runs.front().run.result), "78");
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
    const Fitness fitness = ward.fitness("2026-05-04T07:01");
    EXPECT_EQ(fitness.state, MeterState::OnHold);
    EXPECT_FALSE(fitness.usable);
}

TEST(Story, S14_WhatFollowsStandsBesideTheRunAndNothingTakesItBack)
{
    WardWorld ward;
    const base::Seq before = ward.head();
    ward.run("cancelled", "2026-05-04T07:00", Level::Low, "78");
    const auto all = ward.entries();
    ASSERT_EQ(all.size(), static_cast<std::size_t>(before.value) + 3);
    EXPECT_EQ(all[all.size() - 3].act, "control.run");
    EXPECT_EQ(all[all.size() - 2].act, "control.judged");
    EXPECT_EQ(all.back().act, "meter.held");
    EXPECT_EQ(all.back().person, "N1") << "a hold carries the operator of the run";
}

TEST(Story, S16_FloatTrap)
{
    // Handbook 6.3: in binary, mean 5.6, SD 0.3, x 6.2 gives 2.0000000000000018 and would fire 1-2s.
    WardWorld ward(olderGround());
    const auto mmol = base::GlucoseUnit::MmolPerL;
    const base::Moment start = ward.at("2026-05-01T05:00");
    ward.record(acts::ModelAdded { base::ModelId("K9"), mmol, decimal("1.1"), decimal("33.3"), {}, {}, YesNo::No, YesNo::Yes, {} });
    ward.record(acts::MeterEnrolled { base::MeterId("M9"), base::ModelId("K9"), {}, base::WardId("W1"), start, {} });
    ward.record(acts::StripLotReceived { base::StripLotId("S9"), base::ModelId("K9"), {}, {}, base::parsePrintedDate("2027-12").value(),
        base::parsePeriod("90 d").value(), start, start });
    ward.record(acts::StripVialOpened { base::StripVialId("V9"), base::StripLotId("S9"), start, {} });
    ward.record(acts::RangeAssigned { base::StripLotId("S9"), base::ControlLotId("CL"), Level::Low, mmol, decimal("4.6"), decimal("6.6"),
        decimal("5.6"), decimal("0.3"), Stage::Established, start });
    ward.record(acts::RangeAssigned { base::StripLotId("S9"), base::ControlLotId("CH"), Level::High, mmol, decimal("14.0"), decimal("18.0"),
        decimal("16.0"), decimal("0.5"), Stage::Established, start });
    const Setting m9 { "M9", "N1", "V9", "L1", "H1", mmol };
    const SetRecord onLimit = ward.runSet("on-limit", "2026-05-04T07:00", "6.2", "16.0", m9);
    ASSERT_TRUE(runOf(onLimit, Level::Low).judged.z);
    EXPECT_NEAR(*runOf(onLimit, Level::Low).judged.z, 2.0, 1e-9);
    EXPECT_TRUE(onLimit.judged.rules.empty());
    EXPECT_EQ(onLimit.judged.verdict, Verdict::Accepted);
    const SetRecord beyond = ward.runSet("beyond", "2026-05-05T07:00", "6.21", "16.0", m9);
    EXPECT_TRUE(hasRule(runOf(beyond, Level::Low).judged, "1-2s"));
    EXPECT_EQ(beyond.judged.verdict, Verdict::Warned);
}

TEST(Story, S32_AMistypedValueHoldsUntilASecondPersonConfirms)
{
    WardWorld ward;
    ward.runSet("typo", "2026-05-04T07:00", "26", "300");
    EXPECT_EQ(ward.set("typo").judged.verdict, Verdict::Rejected);
    const base::Seq known = ward.head();

    ward.goTo("2026-05-04T07:04");
    const auto corrected = ward.record(acts::EntryCorrected {
        ward.at("2026-05-04T07:04"), base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26", "62", "transposed", {} });
    EXPECT_EQ(ward.set("typo").judged.verdict, Verdict::Rejected) << "it would better the verdict: a second person confirms first";
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);

    ward.goTo("2026-05-04T07:20");
    ward.record(acts::CorrectionConfirmed { ward.at("2026-05-04T07:20"), base::OperatorId("N2"), corrected.seq });
    const SetRecord set = ward.set("typo");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.judged.oldVerdict, Verdict::Rejected);
    EXPECT_EQ(toText(runOf(set, Level::Low).run.result), "62");
    EXPECT_TRUE(ward.fitness("2026-05-04T07:20").usable);
    const auto stops = ward.reader().stops(base::MeterId("M1")).value();
    ASSERT_EQ(stops.size(), 1U);
    EXPECT_EQ(stops.front().stop.at, ward.at("2026-05-04T07:00"));
    EXPECT_EQ(stops.front().endedAt, ward.at("2026-05-04T07:20"));
    EXPECT_EQ(ward.fitness("2026-05-04T07:10").state, MeterState::OnHold) << "the hold is not taken back";

    // The chain shows 26 -> 62: the first entry as it was, the correction with both.
    EXPECT_EQ(memberOf(ward.entriesOf("control.run").front(), "result"), "26");
    const store::Entry correction = ward.entriesOf("entry.corrected").front();
    EXPECT_EQ(memberOf(correction, "old"), "26");
    EXPECT_EQ(memberOf(correction, "new"), "62");
    EXPECT_EQ(ward.set("typo", known).judged.verdict, Verdict::Rejected) << "as it was known before";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S32_NobodyConfirmsTheirOwnCorrection)
{
    WardWorld ward;
    ward.runSet("typo", "2026-05-04T07:00", "26", "300");
    ward.goTo("2026-05-04T07:04");
    acts::EntryCorrected correction { ward.at("2026-05-04T07:04"), base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26",
        "62", "transposed", base::OperatorId("N1") };
    EXPECT_NE(ward.refusalOf(correction), "");
    correction.confirmedBy.reset();
    const auto corrected = ward.record(correction);
    EXPECT_NE(ward.refusalOf(acts::CorrectionConfirmed { ward.at("2026-05-04T07:04"), base::OperatorId("N1"), corrected.seq }), "");
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);
}

TEST(Story, S32_AnotherCorrectionDoesNotStandInForTheSecondPerson)
{
    WardWorld ward;
    ward.runSet("typo", "2026-05-04T07:00", "26", "300");
    ward.goTo("2026-05-04T07:04");
    const base::Moment now = ward.at("2026-05-04T07:04");
    ward.record(
        acts::EntryCorrected { now, base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26", "62", "transposed", {} });
    ward.record(acts::EntryCorrected {
        now, base::OperatorId("N1"), base::SetId("typo"), Level::Low, "comment", "", "typed wrong", "left out", {} });
    EXPECT_EQ(ward.fitness("2026-05-04T07:05").state, MeterState::OnHold) << "a second correction that changes no verdict confirms nothing";
    ward.record(
        acts::EntryCorrected { now, base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26", "61", "read again", {} });
    EXPECT_EQ(ward.fitness("2026-05-04T07:05").state, MeterState::OnHold);
}

TEST(Story, S32_ALateFactDoesNotStandInForTheSecondPersonEither)
{
    WardWorld ward;
    ward.runSet("typo", "2026-05-04T07:00", "26", "300");
    ward.goTo("2026-05-04T07:04");
    ward.record(acts::EntryCorrected {
        ward.at("2026-05-04T07:04"), base::OperatorId("N1"), base::SetId("typo"), Level::Low, "result", "26", "62", "transposed", {} });
    ward.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, base::GlucoseUnit::MgPerDl,
        decimal("47"), decimal("73"), decimal("60"), decimal("3"), Stage::Established, ward.at("2026-05-03T05:00") });
    EXPECT_EQ(ward.set("typo").judged.verdict, Verdict::Rejected);
    EXPECT_EQ(ward.fitness("2026-05-04T07:05").state, MeterState::OnHold);
}

TEST(Story, S51_AnSdOfZeroIsNotEvaluableAndNeverPassed)
{
    WardWorld ward;
    ward.goTo("2026-05-02T05:00");
    ward.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, base::GlucoseUnit::MgPerDl,
        decimal("48"), decimal("72"), decimal("60"), decimal("0.00"), Stage::Established, ward.at("2026-05-02T05:00") });
    const SetRecord set = ward.runSet("zero", "2026-05-04T07:00", "70", "300");
    const RunRecord& low = runOf(set, Level::Low);
    EXPECT_FALSE(low.judged.evaluable);
    EXPECT_FALSE(low.judged.z);
    EXPECT_FALSE(low.judged.counted);
    EXPECT_EQ(low.judged.inRange, true);
    EXPECT_TRUE(low.judged.rules.empty());
    EXPECT_TRUE(runOf(set, Level::High).judged.evaluable);
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "the range alone decides";
}

} // namespace mk::journeys
