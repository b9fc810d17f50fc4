// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about clock changes and expiry; expectations from handbook 16 with 2.4 and 10.2.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using namespace registry;

std::vector<std::string> causesOf(const SetRecord& set)
{
    return set.runs.empty() ? std::vector<std::string>() : set.runs.front().judged.invalidBecause;
}

} // namespace

TEST(Story, S24_TheClearanceCountsHoursNotWallTimeInSpring)
{
    Ground ground;
    ground.day = "2026-03-20";
    WardWorld ward(ground);
    ward.runSet("spring", "2026-03-28T22:28", "60", "300");
    const Fitness fitness = ward.fitness("2026-03-29T12:00");
    ASSERT_TRUE(fitness.until);
    EXPECT_EQ(base::toText(*fitness.until), "2026-03-29T23:30:00+02:00");
}

TEST(Story, S24_AndInAutumn)
{
    Ground ground;
    ground.day = "2026-10-20";
    WardWorld ward(ground);
    ward.runSet("autumn", "2026-10-24T22:28", "60", "300");
    const Fitness fitness = ward.fitness("2026-10-25T12:00");
    ASSERT_TRUE(fitness.until);
    EXPECT_EQ(base::toText(*fitness.until), "2026-10-25T21:30:00+01:00");
}

TEST(Story, S24_AnHourThatHappensTwiceIsAskedAboutAndNeverGuessed)
{
    const Zone berlin = Zone::named("Europe/Berlin").value();
    const auto asked = TextForm<base::Moment>::read("2026-10-25T02:30", { &berlin, nullptr });
    ASSERT_FALSE(asked);
    EXPECT_NE(asked.error().text.find("2026-10-25T02:30:00+02:00"), std::string::npos) << asked.error().text;
    EXPECT_NE(asked.error().text.find("2026-10-25T02:30:00+01:00"), std::string::npos) << asked.error().text;
    EXPECT_FALSE(TextForm<base::Moment>::read("2026-03-29T02:30", { &berlin, nullptr })) << "the clock skips it";
    const auto answered = TextForm<base::Moment>::read("2026-10-25T02:30+01:00", { &berlin, nullptr });
    ASSERT_TRUE(answered);
    EXPECT_EQ(base::toText(*answered), "2026-10-25T02:30:00+01:00");
}

TEST(Story, S24_AnImportListsTheQuestion)
{
    Ground empty;
    empty.empty = true;
    empty.day = "2026-11-02";
    WardWorld ward(empty);
    auto files = groundFiles();
    files["strip_vials.csv"] = "vial,lot,opened,ward\nV1,S1,2026-10-20T05:00,W1\n";
    files["control_runs.csv"] = "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n"
                                "night,2026-10-25T02:30,M1,N1,V1,low,L1,60,mg/dL,,,\n"
                                "night,2026-10-25T02:45+02:00,M1,N1,V1,high,H1,300,mg/dL,,,\n";
    const auto report = reportOf(ward.import(files), "control_runs.csv");
    EXPECT_TRUE(report.rejected.empty());
    ASSERT_EQ(report.questions.size(), 1U);
    EXPECT_EQ(report.questions.front().first, 2U);
    EXPECT_NE(report.questions.front().second.find("twice"), std::string::npos) << report.questions.front().second;
    EXPECT_EQ(ward.set("night").judged.verdict, Verdict::Accepted);
}

TEST(Story, S24_OrderIsByUtc)
{
    Ground empty;
    empty.empty = true;
    empty.day = "2026-11-02";
    WardWorld ward(empty);
    auto files = groundFiles();
    files["strip_vials.csv"] = "vial,lot,opened,ward\nV1,S1,2026-10-20T05:00,W1\n";
    // 02:40 summer time lies before 02:30 winter time; the file has them the other way round.
    files["control_runs.csv"] = "set,at,meter,operator,strip_vial,level,control_vial,result,unit\n"
                                "night,2026-10-25T02:30+01:00,M1,N1,V1,high,H1,300,mg/dL\n"
                                "night,2026-10-25T02:40+02:00,M1,N1,V1,low,L1,60,mg/dL\n";
    ASSERT_FALSE(ward.import(files).anyRejected());
    const SetRecord set = ward.set("night");
    ASSERT_EQ(set.runs.size(), 2U);
    EXPECT_EQ(set.runs.front().run.level, Level::Low);
    EXPECT_EQ(set.judged.verdict, Verdict::Partial) << "50 minutes of real time lie between them, more than the window";
}

TEST(Story, S27_LeapDay)
{
    Ground ground;
    ground.day = "2027-12-01";
    WardWorld ward(ground);
    EXPECT_EQ(ward.runSet("leap", "2028-02-29T23:30", "60", "300").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(ward.fitness("2028-02-29T23:40").until, ward.at("2028-03-01T00:00")) << "the vial ends before the control is due";
    const SetRecord after = ward.runSet("after", "2028-03-01T00:05", "60", "300");
    EXPECT_EQ(after.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(causesOf(after), std::vector<std::string> { "strip-vial-expired" });
    EXPECT_FALSE(ward.fitness("2028-03-01T00:10").usable);
}

TEST(Story, S28_LastDayOfMonth)
{
    Ground ground;
    ground.day = "2026-04-02";
    ground.stripExpiry = "2026-04"; // AI(17) = 260400
    WardWorld ward(ground);
    EXPECT_EQ(ward.runSet("last-day", "2026-04-30T23:38", "60", "300").judged.verdict, Verdict::Accepted);
    const SetRecord after = ward.runSet("after", "2026-05-01T00:05", "60", "300");
    EXPECT_EQ(after.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(after.runs.size(), 2U) << "stored all the same";
    EXPECT_EQ(causesOf(after), std::vector<std::string> { "strip-expired" });
    const Fitness fitness = ward.fitness("2026-05-01T00:07");
    EXPECT_FALSE(fitness.usable);
    EXPECT_EQ(codes(fitness), "run-invalid strip-expired");
}

TEST(Story, S29_EarlierOfTwo)
{
    Ground ground;
    ground.day = "2026-04-01";
    ground.stripExpiry = "2026-12-31";
    WardWorld ward(ground);
    EXPECT_EQ(ward.runSet("last-day", "2026-06-30T22:00", "60", "300").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(ward.fitness("2026-06-30T22:10").until, ward.at("2026-07-01T00:00"));
    const Fitness after = ward.fitness("2026-07-01T00:00");
    EXPECT_FALSE(after.usable);
    EXPECT_EQ(codes(after), "strip-vial-expired");
    EXPECT_NE(said(after, "strip-vial-expired").find("30 Jun 2026"), std::string::npos) << said(after, "strip-vial-expired");
    EXPECT_EQ(causesOf(ward.runSet("after", "2026-07-01T07:00", "60", "300")), std::vector<std::string> { "strip-vial-expired" });
}

} // namespace mk::journeys
