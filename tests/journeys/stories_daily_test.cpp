// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about shifts, error codes, vials, lots, people, single comparisons and ways back; expectations from handbook 16 with 1.4, 1.5,
// 2.3, 2.5, 3, 4.1, 4.5, 5.2, 5.4 and 6.1.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

#include <tuple>

namespace mk::journeys {
namespace {

using namespace registry;

Ground withPolicy(std::vector<std::pair<std::string, std::string>> settings)
{
    Ground ground;
    ground.policy = std::move(settings);
    return ground;
}

std::string untilText(WardWorld& ward, std::string_view time)
{
    const Fitness fitness = ward.fitness(time);
    return fitness.until ? base::toText(*fitness.until) : "none";
}

} // namespace

TEST(Story, S10_ARunOnALotThatIsNotReleasedIsStoredAndDoesNotClear)
{
    WardWorld ward;
    ward.goTo("2026-05-04T05:30");
    const base::Moment now = ward.at("2026-05-04T05:30");
    ward.record(acts::StripLotReceived { base::StripLotId("S2"), base::ModelId("K1"), {}, {}, base::parsePrintedDate("2030-12-31").value(),
        base::parsePeriod("90 d").value(), now, {} });
    for (const auto& [lot, level, low, high] : { std::tuple("CL", Level::Low, "48", "72"), std::tuple("CH", Level::High, "255", "345") })
        ward.record(acts::RangeAssigned { base::StripLotId("S2"), base::ControlLotId(lot), level, base::GlucoseUnit::MgPerDl, decimal(low),
            decimal(high), {}, {}, Stage::Range, now });
    const std::string refusal = ward.refusalOf(
        acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S2"), now, base::WardId("W1") });
    EXPECT_NE(refusal.find("'S2' is not released"), std::string::npos) << refusal;
    ward.record(
        acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S2"), {}, base::WardId("W1"), YesNo::Yes }); // it stood open
    Setting unreleased;
    unreleased.strip = "V2";
    const SetRecord set = ward.runSet("paper", "2026-05-04T07:00", "60", "300", unreleased);
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(set.runs.front().judged.invalidBecause, (std::vector<std::string> { "strip-vial-expired", "lot-not-released" }));
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);
    EXPECT_TRUE(reason(ward.fitness("2026-05-04T07:05"), "lot-not-released")) << codes(ward.fitness("2026-05-04T07:05"));
}

TEST(Story, S13_ThreeErrorCodesInADayHoldTheMeter)
{
    WardWorld ward;
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    ward.run("first", "2026-05-04T09:00", Level::Low, "ERR:E-3");
    ward.run("second", "2026-05-04T12:00", Level::Low, "ERR:E-3");
    EXPECT_NE(ward.fitness("2026-05-04T12:01").state, MeterState::OnHold);
    const SetRecord third = ward.run("third", "2026-05-05T06:59", Level::Low, "ERR:E-4");
    EXPECT_NE(third.judged.verdict, Verdict::Accepted);
    const Fitness after = ward.fitness("2026-05-05T06:59");
    EXPECT_EQ(after.state, MeterState::OnHold);
    EXPECT_FALSE(after.usable);
    EXPECT_TRUE(reason(after, "error-codes")) << codes(after);
}

TEST(Story, S23_TheElapsedRuleEndsAfterADayToTheMinute)
{
    WardWorld ward;
    ward.runSet("night", "2026-05-04T23:48", "60", "300");
    EXPECT_EQ(untilText(ward, "2026-05-05T03:00"), "2026-05-05T23:50:00+02:00");
}

TEST(Story, S23_TheCalendarRuleEndsAtTheLaboratoryDaysBoundary)
{
    WardWorld midnight(withPolicy({ { "clearance", "calendar" } }));
    midnight.runSet("night", "2026-05-04T23:48", "60", "300");
    EXPECT_EQ(untilText(midnight, "2026-05-04T23:55"), "2026-05-05T00:00:00+02:00");
    EXPECT_FALSE(midnight.fitness("2026-05-05T00:00").usable);

    WardWorld morning(withPolicy({ { "clearance", "calendar" }, { "day_boundary", "07:00" } }));
    morning.runSet("night", "2026-05-04T23:48", "60", "300");
    EXPECT_EQ(untilText(morning, "2026-05-05T03:00"), "2026-05-05T07:00:00+02:00");
    EXPECT_FALSE(morning.fitness("2026-05-05T07:00").usable);
}

TEST(Story, S30_AVialIsOpenedOnce)
{
    WardWorld ward;
    ward.goTo("2026-05-20T10:00");
    const base::Seq before = ward.head();
    const std::string refusal = ward.refusalOf(
        acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), ward.at("2026-05-20T10:00"), base::WardId("W1") });
    EXPECT_NE(refusal.find("V1"), std::string::npos) << refusal;
    EXPECT_NE(refusal.find("entry"), std::string::npos) << refusal; // the first opening is named
    EXPECT_EQ(ward.head(), before);
}

TEST(Story, S39_ALapsedOperatorsSetIsRecordedAndDoesNotClear)
{
    WardWorld ward;
    ward.goTo("2026-05-04T06:00");
    ward.record(acts::OperatorEnrolled {
        base::OperatorId("N9"), "Nurse N9", Role::Nurse, base::parseDate("2025-05-04").value(), base::parseDate("2026-05-03").value() });
    Setting lapsed;
    lapsed.person = "N9";
    const SetRecord set = ward.runSet("lapsed", "2026-05-04T07:00", "60", "300", lapsed);
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_EQ(set.runs.front().judged.invalidBecause, std::vector<std::string> { "operator-not-competent" });
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);
    ward.runSet("competent", "2026-05-04T07:10", "60", "300");
    EXPECT_TRUE(ward.fitness("2026-05-04T07:15").usable);
}

TEST(Story, S41_TheComparisonsLimitJumpsAtItsThreshold)
{
    const auto outcomeOf = [](const std::string& lab, const std::string& meter) {
        WardWorld ward;
        ward.goTo("2026-05-04T08:00");
        acts::ComparisonRecorded pair;
        pair.pair = base::PairId("P-" + lab);
        pair.meter = base::MeterId("M1");
        pair.meterAt = ward.at("2026-05-04T07:50");
        pair.labAt = ward.at("2026-05-04T07:52");
        pair.by = base::OperatorId("N1");
        pair.stripVial = base::StripVialId("V1");
        pair.meterResult = parseReading(meter).value();
        pair.labResult = decimal(lab);
        pair.unit = base::GlucoseUnit::MgPerDl;
        ward.record(pair);
        return reason(ward.fitness("2026-05-04T08:01"), "comparison-failed") != nullptr;
    };
    EXPECT_TRUE(outcomeOf("75", "85")); // allowed 66 to 84
    EXPECT_FALSE(outcomeOf("75", "84"));
    EXPECT_FALSE(outcomeOf("74", "85")); // allowed 62 to 86
    EXPECT_FALSE(outcomeOf("74", "62"));
    EXPECT_TRUE(outcomeOf("74", "61"));
}

TEST(Story, S42_APairOlderThanTheWindowIsListedAndNoReason)
{
    WardWorld ward;
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T09:00");
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId("breakfast");
    pair.meter = base::MeterId("M1");
    pair.meterAt = ward.at("2026-05-04T08:30");
    pair.labAt = ward.at("2026-05-04T08:50"); // twenty minutes apart
    pair.by = base::OperatorId("N1");
    pair.stripVial = base::StripVialId("V1");
    pair.meterResult = parseReading("180").value();
    pair.labResult = decimal("140");
    pair.unit = base::GlucoseUnit::MgPerDl;
    ward.record(pair);
    auto reader = ward.reader();
    const auto pairs = reader.pairs(base::MeterId("M1"));
    ASSERT_TRUE(pairs);
    ASSERT_EQ(pairs->size(), 1U);
    EXPECT_EQ(pairs->front().judged.outcome, acts::PairOutcome::Excluded);
    EXPECT_FALSE(pairs->front().judged.excludedBecause.empty());
    const Fitness after = ward.fitness("2026-05-04T09:01");
    EXPECT_TRUE(after.usable) << codes(after);
    EXPECT_EQ(after.state, MeterState::InService);
}

TEST(Story, S45_AChangedBatteryHoldsUntilLookedAtAndControlled)
{
    WardWorld ward;
    ward.runSet("morning", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T10:00");
    ward.incident(IncidentKind::BatteryChanged, "2026-05-04T10:00");
    ward.incident(IncidentKind::ClockWrong, "2026-05-04T10:00");
    EXPECT_EQ(ward.fitness("2026-05-04T10:01").state, MeterState::OnHold);
    ward.runSet("after", "2026-05-04T10:10", "60", "300");
    EXPECT_EQ(ward.fitness("2026-05-04T10:13").state, MeterState::OnHold) << "controls alone do not end it";
    ward.step(ReturnStepKind::Inspected, "2026-05-04T10:14");
    ward.step(ReturnStepKind::Signed, "2026-05-04T10:15");
    const Fitness after = ward.fitness("2026-05-04T10:16");
    EXPECT_TRUE(after.usable) << codes(after);
}

TEST(Story, S52_NewLimitsNeverRewriteOldVerdicts)
{
    WardWorld ward(olderGround());
    const SetRecord before = ward.runSet("before", "2026-05-09T07:00", "60", "318"); // 2 SD exactly: no rule
    EXPECT_EQ(before.judged.verdict, Verdict::Accepted);
    ward.goTo("2026-05-10T05:00");
    ward.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CH"), Level::High, base::GlucoseUnit::MgPerDl,
        decimal("255"), decimal("345"), decimal("300"), decimal("5"), Stage::Established, ward.at("2026-05-10T05:00") });
    const SetRecord after = ward.runSet("after", "2026-05-10T07:00", "60", "318"); // 3.6 of the new SD
    EXPECT_EQ(after.judged.verdict, Verdict::Rejected);
    EXPECT_EQ(ward.set("before").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(ward.set("before").runs.back().judged.sd, decimal("9"));
    EXPECT_TRUE(ward.entriesOf("verdict.revised").empty());
}

} // namespace mk::journeys
