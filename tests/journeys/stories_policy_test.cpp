// SPDX-License-Identifier: GPL-3.0-or-later
// The policy changes: handbook 0.4 and 13, USE-05, INS-03. A change never judges the past again.
#include "journeys/ward_world.h"

#include "exchange/policy_file.h"
#include "exchange/registry_csv.h"
#include "exchange/csv.h"
#include "store/read/read_policy_preview.h"

#include <gtest/gtest.h>

#include <QDir>
#include <QFile>

#include <chrono>
#include <cstdio>

namespace mk::journeys {
namespace {

using namespace registry;

acts::PolicyChanged aVersion(
    WardWorld& ward, std::int64_t version, std::string_view from, const PolicyPairs& settings, const std::string& by = "C1")
{
    return { version, ward.at(from), completePolicy(settings), base::OperatorId(by), "tried in a test" };
}

std::string inkText(const Fitness& fitness)
{
    return fitness.until ? base::toText(*fitness.until).substr(0, 16) : std::string("none");
}

const PolicyPairs kTwelveHours { { "clearance_hours", "12" } };
const PolicyPairs kStrict { { "rules", "1-2s,1-3s,2-2s,R-4s" } };

} // namespace

TEST(Story, PolicyIsAdoptedByTheCoordinatorAloneAndNeverForThePast)
{
    WardWorld ward;
    ward.goTo("2026-05-10T12:00");
    EXPECT_NE(
        ward.refusalOf(aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours, "N1")).find("the coordinator adopts it"), std::string::npos);
    EXPECT_NE(ward.refusalOf(aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours, "X9")).find("X9"), std::string::npos);
    EXPECT_NE(ward.refusalOf(aVersion(ward, 2, "2026-05-10T11:59", kTwelveHours)).find("never holds for the past"), std::string::npos);
    EXPECT_NE(ward.refusalOf(aVersion(ward, 3, "2026-05-11T00:00", kTwelveHours)).find("does not follow version 1"), std::string::npos);
    auto nobody = aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours);
    nobody.by.reset();
    EXPECT_NE(ward.refusalOf(nobody).find("nobody is named"), std::string::npos);
    auto unsound = aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours);
    unsound.settings.front() = { "clearance_hours", "never" };
    EXPECT_NE(ward.refusalOf(unsound), "");
    EXPECT_TRUE(ward.entriesOf("policy.changed").size() == 1) << "nothing of this was written";

    ward.record(aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours));
    EXPECT_NE(ward.refusalOf(aVersion(ward, 2, "2026-05-12T00:00", {})).find("does not follow version 2"), std::string::npos);
    EXPECT_TRUE(ward.verification().holds());
    auto reader = ward.reader();
    EXPECT_EQ(reader.policyAt(ward.at("2026-05-10T23:59")).version, 1);
    EXPECT_EQ(reader.policyAt(ward.at("2026-05-11T00:00")).version, 2);
}

TEST(Story, PolicyAsOfAnyPastMomentIsTheOneOfThen)
{
    WardWorld ward;
    ward.goTo("2026-05-10T12:00");
    const base::Seq before = ward.head();
    ward.record(aVersion(ward, 2, "2026-05-11T00:00", kTwelveHours));
    ward.goTo("2026-05-20T12:00");
    ward.record(aVersion(ward, 3, "2026-05-21T00:00", kStrict));
    ward.reopen();
    auto now = ward.reader();
    EXPECT_EQ(now.policyAt(ward.at("2026-05-05T00:00")).version, 1);
    EXPECT_EQ(now.policyAt(ward.at("2026-05-15T00:00")).version, 2);
    EXPECT_EQ(now.policyAt(ward.at("2026-05-15T00:00")).clearanceHours, 12);
    EXPECT_EQ(now.policyAt(ward.at("2026-05-22T00:00")).version, 3);
    EXPECT_EQ(now.policyAt(ward.at("2026-05-22T00:00")).clearanceHours, 24) << "a version is a whole document";
    auto then = ward.reader(before);
    EXPECT_EQ(then.policyAt(ward.at("2026-05-15T00:00")).version, 1) << "what was not yet adopted was not known";
}

TEST(Story, PolicyChangedShortensUntilFromThenOnAndNotBefore)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    EXPECT_EQ(inkText(ward.fitness("2026-05-10T09:00")), "2026-05-11T07:02");
    ward.goTo("2026-05-10T09:00");
    ward.record(aVersion(ward, 2, "2026-05-10T22:00", kTwelveHours)); // the set of 07:02 then covers until 19:02
    EXPECT_EQ(inkText(ward.fitness("2026-05-10T10:00")), "2026-05-10T22:00") << "still the old rule, until the new one begins";
    EXPECT_TRUE(ward.fitness("2026-05-10T21:59").usable) << "never unfit before the change";
    const Fitness after = ward.fitness("2026-05-10T22:00");
    EXPECT_FALSE(after.usable);
    ASSERT_NE(reason(after, "control-overdue"), nullptr);
    EXPECT_NE(said(after, "control-overdue").find("by the policy in force since"), std::string::npos);
    ward.runSet("s2", "2026-05-10T22:30", "60", "300");
    EXPECT_EQ(inkText(ward.fitness("2026-05-10T22:40")), "2026-05-11T10:32");
}

TEST(Story, PolicyChangedLeavesVerdictsBehindAsTheyWere)
{
    WardWorld ward(olderGround());
    ward.runSet("old", "2026-05-10T07:00", "66.6", "300"); // z 2.2: 1-2s warns
    EXPECT_EQ(ward.set("old").judged.verdict, Verdict::Warned);
    ward.goTo("2026-05-10T09:00");
    ward.record(aVersion(ward, 2, "2026-05-11T00:00", kStrict));
    const auto again = ward.runSet("new", "2026-05-11T07:00", "66.6", "300");
    EXPECT_EQ(again.judged.verdict, Verdict::Rejected) << "1-2s rejects now";
    EXPECT_EQ(again.judged.policyVersion, 2);
    EXPECT_EQ(ward.set("old").judged.verdict, Verdict::Warned);
    EXPECT_EQ(ward.set("old").judged.policyVersion, 1);
    // Something late makes the registrar judge the meter's sets again: each by the version of its own time.
    ward.goTo("2026-05-11T08:00");
    ward.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CH"), Level::High, base::GlucoseUnit::MgPerDl,
        decimal("250"), decimal("350"), decimal("300"), decimal("9"), Stage::Established, ward.at("2026-05-09T00:00") });
    EXPECT_EQ(ward.set("old").judged.verdict, Verdict::Warned);
    EXPECT_EQ(ward.set("old").judged.policyVersion, 1);
    EXPECT_EQ(ward.set("new").judged.verdict, Verdict::Rejected);
    EXPECT_EQ(ward.set("new").judged.policyVersion, 2);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, PolicyThatAsksForAnotherLevelDoesNotMakeThePastSetPartial)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    ward.goTo("2026-05-10T09:00");
    ward.record(aVersion(ward, 2, "2026-05-10T12:00", { { "required_levels", "low normal high" } }));
    EXPECT_TRUE(ward.fitness("2026-05-10T13:00").usable) << "it was whole by the policy that judged it";
    const auto next = ward.runSet("s2", "2026-05-11T06:00", "60", "300");
    EXPECT_EQ(next.judged.verdict, Verdict::Partial);
    EXPECT_NE(reason(ward.fitness("2026-05-11T06:30"), "set-partial"), nullptr);
}

TEST(Story, CalibrationIsAskedForOnlyWhereThePolicySetsAnInterval)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    EXPECT_TRUE(ward.fitness("2026-05-10T09:00").usable);
    ward.goTo("2026-05-10T09:00");
    ward.record(aVersion(ward, 2, "2026-05-10T10:00", { { "calibration_interval", "20 d" } })); // enrolled 1 May 05:00
    ASSERT_NE(reason(ward.fitness("2026-05-10T11:00"), "calibration-due"), nullptr);
    EXPECT_TRUE(ward.fitness("2026-05-10T11:00").usable);
    ward.runSet("s2", "2026-05-21T07:00", "60", "300");
    const Fitness overdue = ward.fitness("2026-05-21T08:00");
    EXPECT_FALSE(overdue.usable);
    EXPECT_EQ(codes(overdue), "calibration-overdue");

    acts::CalibrationVerified verified { ward.at("2026-05-21T09:00"), base::MeterId("M1"), base::OperatorId("C1"), "linearity set",
        base::GlucoseUnit::MgPerDl, decimal("50"), decimal("70"), decimal("150"), decimal("151"), decimal("400"), decimal("395") };
    ward.goTo("2026-05-21T09:00");
    auto otherUnit = verified;
    otherUnit.unit = base::GlucoseUnit::MmolPerL;
    EXPECT_NE(ward.refusalOf(otherUnit).find("shows mg/dL"), std::string::npos);
    ward.record(verified);
    EXPECT_NE(codes(ward.fitness("2026-05-21T09:01")).find("calibration-failed"), std::string::npos) << "50 against 70 is no proof";
    EXPECT_NE(codes(ward.fitness("2026-05-21T09:01")).find("calibration-overdue"), std::string::npos);
    verified.at = ward.at("2026-05-21T10:00");
    verified.lowResult = decimal("52");
    ward.goTo("2026-05-21T10:00");
    ward.record(verified);
    EXPECT_TRUE(ward.fitness("2026-05-21T10:01").usable);
    EXPECT_EQ(ward.fitness("2026-05-21T09:30").usable, false);
}

TEST(Story, AReserveMeterIsAskedForItsMonthlyControl)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    ward.goTo("2026-05-10T08:00");
    ward.record(
        acts::MeterMoved { ward.at("2026-05-10T08:00"), base::MeterId("M1"), base::OperatorId("C1"), MeterState::Reserve, {}, "spare" });
    const auto asks = [&](std::string_view time) {
        return std::ranges::any_of(ward.fitness(time).next, [](const NextStep& step) { return step.what == StepKind::RunInReserve; });
    };
    EXPECT_FALSE(asks("2026-05-20T08:00"));
    EXPECT_TRUE(asks("2026-06-10T08:00"));
}

TEST(Story, PolicyPreviewNamesMetersAndDays)
{
    // Hand-made: a warning on the 11th that the stricter document rejects; the next good set is that of the 12th, 07:02.
    WardWorld ward(olderGround());
    ward.runSet("d10", "2026-05-10T07:00", "60", "300");
    ward.runSet("d11", "2026-05-11T07:00", "66.6", "300");
    ward.runSet("d12", "2026-05-12T07:00", "60", "300");
    const base::Seq before = ward.head();
    auto reader = ward.reader();
    const auto candidate = policyFrom(kStrict);
    const PreviewPeriod period { base::parseDate("2026-05-10").value(), base::parseDate("2026-05-12").value(),
        ward.at("2026-05-12T18:00") };
    const auto previews = store::previewOf(reader, *candidate, period, {});
    ASSERT_TRUE(previews) << previews.error().text;
    ASSERT_EQ(previews->size(), 1U);
    const auto& days = previews->front().days;
    ASSERT_EQ(days.size(), 3U);
    EXPECT_TRUE(days[0].usable);
    EXPECT_FALSE(days[1].usable);
    EXPECT_TRUE(days[1].stoodUsable);
    EXPECT_EQ(days[1].stopped, std::vector<std::string> { "control-rejected" });
    EXPECT_TRUE(days[2].usable);
    EXPECT_EQ(previews->front().otherVerdicts, 1U);
    EXPECT_EQ(ward.head(), before) << "a preview records nothing";
    EXPECT_EQ(ward.set("d11").judged.verdict, Verdict::Warned);
    EXPECT_FALSE(store::previewOf(reader, *candidate, period, base::WardId("W9")));
}

TEST(Story, PolicyPreviewUnderThePolicyInForceIsAsItStoodAlsoWhereAHoldWaitedForASignature)
{
    WardWorld ward(olderGround());
    ward.runSet("d10", "2026-05-10T07:00", "66.6", "300");
    // The second beyond +2 SD, entered twenty minutes after it was run: the hold begins when it is entered, and a shift rule asks for a
    // signature.
    ward.goTo("2026-05-11T07:20");
    for (const Level level : { Level::Low, Level::High }) {
        auto run = ward.aRun("d11", level, level == Level::Low ? "66.6" : "300");
        run.at = ward.at("2026-05-11T07:00");
        ward.record(run);
    }
    ASSERT_EQ(ward.fitness("2026-05-11T12:00").state, MeterState::OnHold);
    ward.runSet("d12", "2026-05-12T07:00", "60", "300");
    EXPECT_EQ(ward.fitness("2026-05-12T12:00").state, MeterState::OnHold) << "one good set does not end a shift";
    ward.goTo("2026-05-12T14:00");
    acts::ComparisonRecorded pair; // after a shift the laboratory is asked first
    pair.pair = base::PairId("after-the-shift");
    pair.meter = base::MeterId("M1");
    pair.meterAt = pair.labAt = ward.at("2026-05-12T14:00");
    pair.by = base::OperatorId("C1");
    pair.meterResult = pair.labResult = parseReading("100").value();
    pair.unit = base::GlucoseUnit::MgPerDl;
    ward.record(pair);
    ward.step(ReturnStepKind::Signed, "2026-05-12T15:00", "C1");
    ward.runSet("d13", "2026-05-13T07:00", "60", "300");
    auto reader = ward.reader();
    const PreviewPeriod period { base::parseDate("2026-05-10").value(), base::parseDate("2026-05-13").value(),
        ward.at("2026-05-13T18:00") };
    const auto previews = store::previewOf(reader, policyFrom(olderGround().policy).value(), period, {});
    ASSERT_TRUE(previews) << previews.error().text;
    const bool usable[] = { true, false, false, true };
    ASSERT_EQ(previews->front().days.size(), 4U);
    for (std::size_t i = 0; i < 4; ++i) {
        const PreviewDay& day = previews->front().days[i];
        EXPECT_EQ(day.stoodUsable, usable[i]) << base::toText(day.day);
        EXPECT_FALSE(day.differs()) << base::toText(day.day);
    }
}

namespace {

std::string demoBytes(const QString& name)
{
    QFile file(QStringLiteral(MK_SOURCE_DIR "/demo-data/") + name);
    EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << name.toStdString();
    return file.readAll().toStdString();
}

class PolicyPreviewOfDemo : public ::testing::Test {
protected:
    static void SetUpTestSuite()
    {
        Ground empty;
        empty.empty = true;
        empty.day = "2026-11-13";
        s_ward = std::make_unique<WardWorld>(empty);
        std::map<std::string, std::string> files;
        for (const QString& name : QDir(QStringLiteral(MK_SOURCE_DIR "/demo-data")).entryList({ QStringLiteral("*.csv") }, QDir::Files))
            if (exchange::isRegistryFile(name.toStdString()))
                files[name.toStdString()] = demoBytes(name);
        s_ward->import(files);
    }
    static void TearDownTestSuite() { s_ward.reset(); }

    static std::vector<PreviewOfMeter> under(const Policy& candidate)
    {
        auto reader = s_ward->reader();
        const PreviewPeriod period { base::parseDate("2026-05-13").value(), base::parseDate("2026-11-12").value(),
            s_ward->at("2026-11-12T12:00") };
        const auto start = std::chrono::steady_clock::now();
        auto previews = store::previewOf(reader, candidate, period, {});
        const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
        std::printf("policy preview of six months, 14 meters: %.3f s\n", took.count());
        EXPECT_TRUE(previews) << previews.error().text;
        return previews ? *previews : std::vector<PreviewOfMeter>();
    }

    static std::unique_ptr<WardWorld> s_ward;
};
std::unique_ptr<WardWorld> PolicyPreviewOfDemo::s_ward;

} // namespace

TEST_F(PolicyPreviewOfDemo, UnderThePolicyInForceNothingIsOtherwiseAndEveryNoonIsAsItStood)
{
    const auto table = exchange::parseCsv(demoBytes(QStringLiteral("expected.csv")), "expected.csv");
    ASSERT_TRUE(table);
    std::map<std::pair<std::string, std::string>, bool> expected;
    for (const auto& row : table->rows)
        expected[{ row.text(0), row.text(1) }] = row.text(2) == "yes";
    std::size_t compared = 0;
    for (const auto& meter : under(defaultPolicy())) {
        EXPECT_EQ(meter.otherVerdicts, 0U) << meter.meter.value;
        for (const auto& day : meter.days) {
            EXPECT_EQ(day.stoodUsable, (expected[{ base::toText(day.day), meter.meter.value }]))
                << base::toText(day.day) << " " << meter.meter.value;
            EXPECT_FALSE(day.differs()) << base::toText(day.day) << " " << meter.meter.value;
            ++compared;
        }
    }
    EXPECT_EQ(compared, expected.size());
}

TEST_F(PolicyPreviewOfDemo, ADriftThatAlwaysBlocksWithdrawsM07OnTheDaysOfItsStory)
{
    // demo-data/README.md: M-07 is told of from 8 November and was withdrawn by the coordinator on the 12th.
    Policy always = defaultPolicy();
    always.driftBlocks = DriftBlocks::Always;
    for (const auto& meter : under(always))
        for (const auto& day : meter.days) {
            const std::string date = base::toText(day.day);
            const bool story = meter.meter.value == "M-07" && date >= "2026-11-08" && date <= "2026-11-11";
            EXPECT_EQ(day.differs(), story) << date << " " << meter.meter.value;
            EXPECT_TRUE(!story || (day.withdrawn && !day.usable && day.stoodUsable)) << date;
        }
}

TEST_F(PolicyPreviewOfDemo, AWiderComparisonLimitWouldNotHaveWithdrawnM05)
{
    const PolicyPairs settings { { "limit_percent", "60" }, { "limit_below", "60" } };
    for (const auto& meter : under(policyFrom(settings).value())) {
        const auto withdrawn = std::ranges::count_if(meter.days, &PreviewDay::withdrawn);
        const auto stood = std::ranges::count_if(meter.days, &PreviewDay::stoodWithdrawn);
        EXPECT_EQ(stood, meter.meter.value == "M-05" ? 6 : meter.meter.value == "M-07" ? 1 : 0) << meter.meter.value;
        EXPECT_EQ(withdrawn, meter.meter.value == "M-07" ? 1 : 0) << meter.meter.value;
    }
}

} // namespace mk::journeys
