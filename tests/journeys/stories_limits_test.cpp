// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/lot_hands.h"

#include "store/read/lot_records.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

TEST(Story, S20_TwentyRunsOnTwentyDaysAreProposedAndAcceptedAndRulesResume)
{
    WardWorld ward;
    bringInReleasedS2(ward, "2026-05-04T05:00");
    const char* highs[] = { "314", "318", "322", "316", "320" };
    for (int day = 0; day < 20; ++day) {
        ward.runSet("on-s2-" + std::to_string(day), dayOf(day, "07:00"), day % 2 == 0 ? "59" : "61", highs[day % 5], with("M1", "V2"));
        if (day == 8) {
            const auto early = proposals(ward, dayOf(day, "08:00"), Level::High);
            ASSERT_EQ(early.size(), 1U);
            EXPECT_EQ(early[0].stage, Stage::Range);
            EXPECT_EQ(early[0].missingRuns, 1U);
            EXPECT_FALSE(early[0].acceptable());
        }
        if (day == 9) {
            const auto interim = proposals(ward, dayOf(day, "08:00"), Level::High);
            ASSERT_EQ(interim.size(), 1U);
            EXPECT_EQ(interim[0].stage, Stage::Interim);
            ASSERT_TRUE(interim[0].former);
            EXPECT_EQ(interim[0].former->stripLot, base::StripLotId("S1"));
            EXPECT_NEAR(*interim[0].sd, 0.03 * *interim[0].mean, 1e-9) << "the CV of S1, 3 %, is carried";
        }
    }
    const auto high = proposals(ward, dayOf(19, "08:00"), Level::High);
    const auto low = proposals(ward, dayOf(19, "08:00"), Level::Low);
    ASSERT_EQ(high.size(), 1U);
    EXPECT_EQ(high[0].stage, Stage::Established);
    EXPECT_EQ(high[0].runs, 20U);
    EXPECT_EQ(high[0].days, 20U);
    EXPECT_EQ(high[0].meanTyped->typed(), "318.0");
    EXPECT_EQ(high[0].sdTyped->typed(), "2.90");
    EXPECT_FALSE(high[0].inForce->act.mean);

    const base::Moment at = now(ward, dayOf(19, "09:00"));
    const auto act = acceptanceOf(high[0], at, "twenty days on S2");
    ASSERT_TRUE(act);
    EXPECT_NE(recordBy(ward, "N1", *act).find("only the coordinator"), std::string::npos);
    EXPECT_EQ(recordBy(ward, "C1", *act), "");
    EXPECT_EQ(recordBy(ward, "C1", *acceptanceOf(low[0], at, "twenty days on S2")), "");
    EXPECT_NE(ward.entriesOf("range.assigned").back().body.find("twenty days on S2"), std::string::npos);
    EXPECT_EQ(ward.entriesOf("range.assigned").back().person, "C1");

    const SetRecord resumed = ward.runSet("resumed", dayOf(20, "07:00"), "60", "318", with("M1", "V2"));
    EXPECT_TRUE(resumed.judged.runs.back().evaluable);
    const SetRecord beyond = ward.runSet("beyond", dayOf(21, "07:00"), "60", "330", with("M1", "V2"));
    EXPECT_EQ(beyond.judged.runs.back().inRange, true);
    EXPECT_EQ(beyond.judged.verdict, Verdict::Rejected) << "330 lies 4 SD above 318";
    const SetRecord before = ward.set("on-s2-19");
    EXPECT_FALSE(before.judged.runs.back().evaluable) << "no verdict before is judged anew";
    EXPECT_FALSE(before.judged.oldVerdict);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Limits, AnSdIsNeverMadeFromARangeAndRulesSayNotEvaluable)
{
    WardWorld ward;
    bringInReleasedS2(ward, "2026-05-04T05:00");
    const SetRecord set = ward.runSet("range-only", "2026-05-04T07:00", "71", "365", with("M1", "V2"));
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    for (const auto& run : set.runs) {
        EXPECT_FALSE(run.judged.sd);
        EXPECT_FALSE(run.judged.mean);
        EXPECT_FALSE(run.judged.z);
        EXPECT_FALSE(run.judged.evaluable);
    }
    const std::string refusal = [&] {
        auto range = rangeOn("S2", Level::Low, "48", "72", ward.at("2026-05-04T07:02"));
        range.mean = decimal("60");
        range.sd = decimal("3");
        return recordBy(ward, "N1", range);
    }();
    EXPECT_NE(refusal.find("only the coordinator"), std::string::npos) << refusal;
}

TEST(Limits, ThoseOfOneMeterGoBeforeTheGroupsForThatMeterOnly)
{
    WardWorld ward;
    const base::Moment at = now(ward, "2026-05-04T06:00");
    addMeterTo(ward, "M2", at);
    auto own = rangeOn("S1", Level::High, "255", "345", at);
    own.mean = decimal("320");
    own.sd = decimal("6");
    own.stage = Stage::Established;
    own.meter = base::MeterId("M1");
    EXPECT_NE(recordBy(ward, "N1", own), "");
    EXPECT_EQ(recordBy(ward, "C1", own), "");
    EXPECT_EQ(ward.runSet("m1", "2026-05-04T07:00", "60", "320").runs.back().judged.mean, decimal("320"));
    const SetRecord group = ward.runSet("m2", "2026-05-04T07:10", "60", "320", with("M2", "V1"));
    EXPECT_EQ(group.runs.back().judged.mean, decimal("300"));
    EXPECT_NEAR(*group.runs.back().judged.z, 20.0 / 9.0, 1e-12);
}

TEST(Limits, ZGoesOnBetweenTwoEstablishedTargetSets)
{
    WardWorld ward;
    const auto change = [&](Stage stage) {
        for (auto range : { rangeOn("S2", Level::Low, "48", "72", ward.at("2026-05-06T05:00")),
                 rangeOn("S2", Level::High, "270", "366", ward.at("2026-05-06T05:00")) }) {
            range.from = ward.at("2026-05-06T05:30");
            range.stage = stage;
            if (stage == Stage::Established) {
                range.mean = decimal(range.level == Level::Low ? "60" : "318");
                range.sd = decimal(range.level == Level::Low ? "3" : "9");
            }
            ward.record(range);
        }
    };
    ward.runSet("s1-a", "2026-05-04T07:00", "60", "312");
    ward.runSet("s1-b", "2026-05-05T07:00", "60", "312");
    bringInReleasedS2(ward, "2026-05-06T05:00");
    ward.goTo("2026-05-06T05:30");
    change(Stage::Established);
    const SetRecord first = ward.runSet("s2-a", "2026-05-06T07:00", "60", "330", with("M1", "V2"));
    EXPECT_FALSE(first.judged.segmentStart);
    EXPECT_TRUE(first.judged.rules.empty()) << "330 is no shift on S2: z is 1.33 as before";
    const SetRecord second = ward.runSet("s2-b", "2026-05-07T07:00", "60", "330", with("M1", "V2"));
    EXPECT_EQ(second.judged.rules, std::vector<std::string> { "4-1s" }) << "two on S1 and two on S2, each beyond +1 SD";
}

} // namespace mk::journeys
