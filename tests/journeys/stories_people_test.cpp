// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about shifts, error codes, vials, people and single comparisons; expectations from handbook 16 with 2.5, 3, 4.1, 4.5 and 5.4.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

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
    ward.record(acts::OperatorEnrolled { base::OperatorId("N9"), "Nurse N9", Role::Nurse, base::parseDate("2025-05-04").value(),
        base::parseDate("2026-05-03").value() });
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

} // namespace mk::journeys
