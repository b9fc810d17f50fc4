// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about what happens between control sets; expectations from handbook 16 with 1.5 and 10.3.
#include "journeys/ward_world.h"

#include "store/read/read_month.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

TEST(Story, S17_DroppedBetweenTwoGoodControls)
{
    WardWorld ward;
    ward.runSet("morning", "2026-05-04T06:58", "60", "300");
    ward.goTo("2026-05-04T15:00");
    ward.incident(IncidentKind::Dropped, "2026-05-04T13:20");
    const Fitness held = ward.fitness("2026-05-04T15:00");
    EXPECT_EQ(held.state, MeterState::OnHold);
    EXPECT_EQ(codes(held), "dropped not-in-service");

    ward.step(ReturnStepKind::Inspected, "2026-05-04T15:04");
    ward.runSet("afternoon", "2026-05-04T15:06", "61", "298");
    EXPECT_FALSE(ward.fitness("2026-05-04T15:09").usable) << "the set alone does not end a hold that wants a signature";
    ward.step(ReturnStepKind::Signed, "2026-05-04T15:10");
    EXPECT_TRUE(ward.fitness("2026-05-04T15:10").usable);

    // Not fit from 13:20 to 15:10, and the good set does not erase it.
    EXPECT_TRUE(ward.fitness("2026-05-04T13:19:59").usable);
    for (const char* time : { "2026-05-04T13:20", "2026-05-04T14:30", "2026-05-04T15:00", "2026-05-04T15:09:59" }) {
        const Fitness between = ward.fitness(time);
        EXPECT_FALSE(between.usable) << time;
        EXPECT_NE(reason(between, "dropped"), nullptr) << time;
    }
    EXPECT_EQ(ward.fitness("2026-05-04T14:00").state, MeterState::InService) << "no hold is laid over the past";
    ASSERT_TRUE(ward.asKnownThen("2026-05-04T14:00"));
    EXPECT_TRUE(ward.asKnownThen("2026-05-04T14:00")->usable);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S17_TheSignatureWaitsForInspectionAndControls)
{
    WardWorld ward;
    ward.runSet("morning", "2026-05-04T06:58", "60", "300");
    ward.goTo("2026-05-04T15:00");
    ward.incident(IncidentKind::Dropped, "2026-05-04T13:20");
    const auto step = [&](ReturnStepKind kind) {
        return acts::ReturnStep { ward.at("2026-05-04T15:30"), base::MeterId("M1"), base::OperatorId("N1"), kind, {} };
    };
    ward.goTo("2026-05-04T15:30");
    EXPECT_NE(ward.refusalOf(step(ReturnStepKind::Signed)).find("inspected"), std::string::npos);
    EXPECT_NE(ward.refusalOf(step(ReturnStepKind::ControlsPassed)), "") << "the morning's set came before the fall";
    ward.record(step(ReturnStepKind::Inspected));
    EXPECT_NE(ward.refusalOf(step(ReturnStepKind::Signed)).find("control"), std::string::npos);
}

TEST(Story, S18_OverdueWhileIdle)
{
    WardWorld ward;
    ward.runSet("Friday", "2026-05-08T07:00", "60", "300");
    for (const char* day : { "2026-05-09T00:00", "2026-05-10T00:00" }) {
        ward.goTo(day);
        ward.incident(IncidentKind::NotInUse, day);
    }
    const Fitness idle = ward.fitness("2026-05-11T06:00");
    EXPECT_FALSE(idle.usable);
    EXPECT_EQ(codes(idle), "control-overdue");
    EXPECT_EQ(idle.advice, Advice::Check);
    EXPECT_EQ(idle.state, MeterState::InService) << "overdue is computed, never a stored state";

    ward.runSet("Monday", "2026-05-11T07:00", "60", "300");
    EXPECT_TRUE(ward.fitness("2026-05-11T07:02").usable);

    auto reader = ward.reader();
    const auto month = store::readMonth(reader, {}, { 2026, 5 }, ward.at("2026-05-12T00:00"));
    ASSERT_TRUE(month) << month.error().text;
    ASSERT_EQ(month->figures.meters.size(), 1U);
    for (const auto& day : month->figures.meters.front().days) {
        if (day.day == base::parseDate("2026-05-09").value() || day.day == base::parseDate("2026-05-10").value()) {
            EXPECT_EQ(day.what, Occasion::Excused) << base::toText(day.day);
        }
        if (day.day == base::parseDate("2026-05-11").value()) {
            EXPECT_EQ(day.what, Occasion::Met);
        }
    }
}

TEST(Story, S25_DropToldLate)
{
    WardWorld ward;
    ward.runSet("first", "2026-05-04T06:58", "60", "300");
    ward.runSet("second", "2026-05-05T06:58", "61", "302");
    ward.goTo("2026-05-05T12:00");
    ward.incident(IncidentKind::Dropped, "2026-05-04T15:00", "M1", "N2");

    for (const char* time : { "2026-05-04T15:00", "2026-05-04T22:00", "2026-05-05T06:57" }) {
        const auto then = ward.asKnownThen(time);
        ASSERT_TRUE(then) << time;
        EXPECT_TRUE(then->usable) << "as known then, " << time;
        const Fitness now = ward.fitness(time);
        EXPECT_FALSE(now.usable) << "as known now, " << time;
        EXPECT_EQ(codes(now).find("dropped") != std::string::npos, true) << time;
    }
    EXPECT_TRUE(ward.fitness("2026-05-04T14:59").usable);
    EXPECT_TRUE(ward.fitness("2026-05-05T07:00").usable) << "the next good set ends the doubt";
    EXPECT_TRUE(ward.fitness("2026-05-05T11:59").usable) << "nobody could have obeyed a hold before it was told";
    const Fitness told = ward.fitness("2026-05-05T12:00");
    EXPECT_EQ(told.state, MeterState::OnHold);
    EXPECT_EQ(codes(told), "dropped look-back-open not-in-service");

    const auto lookbacks = ward.reader().lookbacks(base::MeterId("M1")).value();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.from, ward.at("2026-05-04T15:00"));
    EXPECT_EQ(lookbacks.front().lookback.to, ward.at("2026-05-05T07:00"));
    EXPECT_FALSE(lookbacks.front().closedBy);
}

TEST(Story, S25_TheCoordinatorClosesTheLookback)
{
    WardWorld ward;
    ward.runSet("first", "2026-05-04T06:58", "60", "300");
    ward.runSet("second", "2026-05-05T06:58", "61", "302");
    ward.goTo("2026-05-05T12:00");
    ward.incident(IncidentKind::Dropped, "2026-05-04T15:00");
    const base::Seq opened = ward.reader().lookbacks(base::MeterId("M1")).value().front().seq;
    ward.goTo("2026-05-06T09:00");
    EXPECT_NE(
        ward.refusalOf(acts::LookbackClosed { ward.at("2026-05-06T09:00"), base::OperatorId("N1"), opened, "no result in doubt" }), "");
    acts::LookbackClosed closed { ward.at("2026-05-06T09:00"), base::OperatorId("C1"), opened, "no result in doubt" };
    closed.notUsedSays = "the ward sister";
    ward.record(closed);
    EXPECT_EQ(reason(ward.fitness("2026-05-06T09:00"), "look-back-open"), nullptr);
    EXPECT_NE(reason(ward.fitness("2026-05-06T08:59"), "look-back-open"), nullptr);
}

TEST(ClockLeap, IsNoticedByTheNextActThatIsRecordedAlsoAfterARefusedOne)
{
    WardWorld ward;
    ward.goTo("2026-05-04T10:00");
    ward.record(acts::NoteAdded { ward.at("2026-05-04T10:00"), base::OperatorId("N1"), base::MeterId("M1"), "before" });
    ward.leapTo("2026-05-04T11:00");
    EXPECT_FALSE(
        ward.tryRecord(acts::NoteAdded { ward.at("2026-05-04T11:00"), base::OperatorId("N1"), base::MeterId("no such meter"), "refused" }));
    EXPECT_TRUE(ward.entriesOf("clock.noticed").empty()) << "nothing was recorded";
    ward.record(acts::NoteAdded { ward.at("2026-05-04T11:00"), base::OperatorId("N1"), base::MeterId("M1"), "after" });
    EXPECT_EQ(ward.entriesOf("clock.noticed").size(), 1U);
    ward.record(acts::NoteAdded { ward.at("2026-05-04T11:00"), base::OperatorId("N1"), base::MeterId("M1"), "once more" });
    EXPECT_EQ(ward.entriesOf("clock.noticed").size(), 1U) << "once";
}

TEST(Story, S26_ClockJump)
{
    Ground ground;
    ground.stripPeriod = "3000 d"; // so that the set of the wrong year is accepted
    WardWorld ward(ground);
    ward.runSet("good", "2026-05-04T09:00", "60", "300");
    ward.goTo("2026-05-04T10:00");
    ward.record(acts::NoteAdded { ward.at("2026-05-04T10:00"), base::OperatorId("N1"), base::MeterId("M1"), "before" });

    ward.leapTo("2027-05-04T10:00");
    EXPECT_EQ(ward.runSet("in-the-future", "2027-05-04T10:00", "60", "300").judged.verdict, Verdict::Accepted);
    auto notices = ward.entriesOf("clock.noticed");
    ASSERT_EQ(notices.size(), 1U);
    EXPECT_NE(notices.front().body.find("\"forward\""), std::string::npos);
    const Fitness leapt = ward.fitness("2027-05-04T10:03");
    ASSERT_NE(reason(leapt, "clock-suspect"), nullptr);
    EXPECT_FALSE(reason(leapt, "clock-suspect")->blocks);

    ward.leapTo("2026-05-05T10:00");
    ward.record(acts::NoteAdded { ward.at("2026-05-05T10:00"), base::OperatorId("N1"), base::MeterId("M1"), "clock put right" });
    notices = ward.entriesOf("clock.noticed");
    ASSERT_EQ(notices.size(), 2U) << "both steps are in the log";
    EXPECT_NE(notices.back().body.find("\"back\""), std::string::npos);

    // Nothing becomes cleared by it: at the real time the future set does not count.
    const Fitness real = ward.fitness("2026-05-05T10:00");
    EXPECT_FALSE(real.usable);
    EXPECT_EQ(codes(real), "control-overdue");
    EXPECT_EQ(ward.fitness("2026-05-04T10:30").until, ward.at("2026-05-05T09:02"));
    EXPECT_TRUE(ward.verification().holds()) << "the order of entries stays that of their numbers";

    ward.runSet("right", "2026-05-05T10:05", "60", "300");
    const auto marked = [&](const char* set) { return ward.set(set).runs.front().mark->clockLeapt; };
    EXPECT_FALSE(marked("good"));
    EXPECT_TRUE(marked("in-the-future")) << "what was entered meanwhile says so for ever";
    EXPECT_FALSE(marked("right"));
}

TEST(Story, S26_ASetAfterTheClockWasPutRightClears)
{
    WardWorld ward;
    ward.runSet("good", "2026-05-04T09:00", "60", "300");
    ward.leapTo("2027-05-04T10:00");
    EXPECT_EQ(ward.runSet("in-the-future", "2027-05-04T10:00", "60", "300").judged.verdict, Verdict::Invalid)
        << "the vial's 90 days are over in that year";
    ward.leapTo("2026-05-05T10:00");
    const SetRecord set = ward.runSet("real", "2026-05-05T10:00", "60", "300");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "the vial was not declared expired for good";
    const Fitness fitness = ward.fitness("2026-05-05T10:02");
    EXPECT_TRUE(fitness.usable) << codes(fitness);
    EXPECT_EQ(fitness.until, ward.at("2026-05-06T10:02"));
}

TEST(Story, S26_SmallStepsOfTheClockAreNoNews)
{
    // Handbook 10.3: backward by more than 2 minutes, forward by more than 10.
    WardWorld ward;
    ward.goTo("2026-05-04T10:00");
    const auto note = [&] {
        ward.record(acts::NoteAdded {
            ward.at("2026-05-04T09:00"), base::OperatorId("N1"), base::MeterId("M1"), "n" + std::to_string(ward.head().value) });
    };
    note();
    ward.leapTo("2026-05-04T10:10");
    note();
    ward.leapTo("2026-05-04T10:08");
    note();
    EXPECT_EQ(ward.entriesOf("clock.noticed").size(), 0U);
    ward.leapTo("2026-05-04T10:18:01");
    note();
    ward.leapTo("2026-05-04T10:16");
    note();
    EXPECT_EQ(ward.entriesOf("clock.noticed").size(), 2U);
}

} // namespace mk::journeys
