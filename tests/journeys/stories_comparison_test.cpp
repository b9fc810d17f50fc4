// SPDX-License-Identifier: GPL-3.0-or-later
// Comparisons with the laboratory, proficiency samples, and meter or lot: handbook 5, 7.2, 8.9 and 16.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using namespace registry;

/// A pair at the clock's time, laboratory four minutes later.
acts::ComparisonRecorded aPair(WardWorld& ward, std::string_view time, const std::string& id, const std::string& meter,
    const std::string& lab, std::optional<std::string> round = {})
{
    ward.goTo(time);
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId(id);
    pair.meter = base::MeterId("M1");
    pair.meterAt = base::plusMs(ward.at(time), -4 * 60'000);
    pair.labAt = ward.at(time);
    pair.by = base::OperatorId("C1");
    pair.meterResult = parseReading(meter).value();
    pair.labResult = parseReading(lab).value();
    pair.unit = base::GlucoseUnit::MgPerDl;
    pair.round = std::move(round);
    return pair;
}

PairRecord pairOf(WardWorld& ward, const std::string& id)
{
    const auto pairs = ward.reader().pairs(base::MeterId("M1"));
    EXPECT_TRUE(pairs);
    for (const auto& pair : *pairs)
        if (pair.pair.pair.value == id)
            return pair;
    ADD_FAILURE() << id << " is not on record";
    return {};
}

bool wasExcludedFor(const PairRecord& pair, std::string_view what)
{
    return std::ranges::any_of(pair.judged.excludedBecause, [&](const std::string& why) { return why.find(what) != std::string::npos; });
}

bool saysNext(const Fitness& fitness, std::string_view what)
{
    return std::ranges::any_of(nextSaid(fitness), [&](const std::string& step) { return step.find(what) != std::string::npos; });
}

acts::EqaReceived eqaSampleOf(WardWorld& ward, std::string_view time, std::string_view due)
{
    ward.goTo(time);
    return { ward.at(time), base::OperatorId("C1"), "Ring", "2026-2", "A", ward.at(due), base::MeterId("M1"), "cool, whole", "2 to 8 C" };
}
acts::EqaReturned eqaResult(WardWorld& ward, std::string_view time, const std::string& result)
{
    ward.goTo(time);
    return { ward.at(time), base::OperatorId("N1"), "Ring", "2026-2", "A", base::StripVialId("V1"), parseReading(result).value(),
        base::GlucoseUnit::MgPerDl, ward.at(time), YesNo::Yes };
}
acts::EqaScored eqaScore(WardWorld& ward, std::string_view time)
{
    ward.goTo(time);
    return { ward.at(time), base::OperatorId("C1"), "Ring", "2026-2", "A", decimal("100"), decimal("5"), "212" };
}

void addMeters(WardWorld& ward, int last)
{
    for (int i = 2; i <= last; ++i)
        ward.record(acts::MeterEnrolled { base::MeterId("M" + std::to_string(i)), base::ModelId("K1"), "serial-" + std::to_string(i),
            base::WardId("W1"), ward.at("2026-05-01T05:00"), {} });
}

std::string timeOf(int day, int minute)
{
    return base::toText(base::addDays(base::parseDate("2026-05-04").value(), day)) + "T07:" + (minute < 10 ? "0" : "")
        + std::to_string(minute);
}

/// Twelve days: M1 drifts up by 1.1 SD a level; the others read as given.
Fitness afterADrift(WardWorld& ward, const std::string& low, const std::string& high)
{
    addMeters(ward, 6);
    for (int day = 0; day < 12; ++day)
        for (int meter = 1; meter <= 6; ++meter) {
            Setting setting;
            setting.meter = "M" + std::to_string(meter);
            ward.runSet(setting.meter + "/" + std::to_string(day), timeOf(day, meter * 5), meter == 1 ? "63.6" : low,
                meter == 1 ? "310.8" : high, setting);
        }
    return ward.fitness("2026-05-15T12:00");
}

} // namespace

TEST(Story, S42_BadPair)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    auto meal = aPair(ward, "2026-05-10T09:20", "meal", "180", "140");
    meal.meterAt = ward.at("2026-05-10T09:00");
    meal.sampleType = "capillary";
    meal.labSampleType = "venous";
    meal.fasting = YesNo::No;
    ward.record(meal);
    const PairRecord judged = pairOf(ward, "meal");
    EXPECT_EQ(judged.judged.outcome, PairOutcome::Excluded);
    EXPECT_EQ(judged.judged.excludedBecause.size(), 2U) << "for time and for the meal";
    EXPECT_TRUE(wasExcludedFor(judged, "20 minutes apart"));
    EXPECT_TRUE(wasExcludedFor(judged, "after a meal"));

    auto tube = aPair(ward, "2026-05-10T11:00", "tube", "140", "120");
    tube.sampleType = "venous";
    tube.labSampleType = "venous";
    tube.tube = "fluoride";
    tube.drawnAt = ward.at("2026-05-10T09:50");
    tube.separatedAt = ward.at("2026-05-10T11:00");
    ward.record(tube);
    EXPECT_EQ(pairOf(ward, "tube").judged.outcome, PairOutcome::Excluded);
    EXPECT_EQ(pairOf(ward, "tube").judged.excludedBecause.size(), 1U);
    EXPECT_TRUE(wasExcludedFor(pairOf(ward, "tube"), "stood 70 minutes"));

    const Fitness after = ward.fitness("2026-05-10T12:00");
    EXPECT_TRUE(after.usable);
    EXPECT_EQ(codes(after), "") << "listed, and nothing else: no failure, no withdrawal";
    EXPECT_TRUE(ward.entriesOf("meter.withdrawn").empty());
    EXPECT_EQ(pairOf(ward, "tube").pair.tube, "fluoride") << "what was told of the sample is kept";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S43_FivePairsOneOut)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    for (int i = 1; i <= 4; ++i)
        ward.record(aPair(ward, "2026-05-10T09:1" + std::to_string(i), "a" + std::to_string(i), "100", "100", "first"));
    EXPECT_TRUE(ward.fitness("2026-05-10T09:20").usable);
    ward.record(aPair(ward, "2026-05-10T09:30", "a5", "113", "100", "first"));
    const Fitness failed = ward.fitness("2026-05-10T09:31");
    EXPECT_FALSE(failed.usable) << "four of five are no pass";
    EXPECT_EQ(failed.state, MeterState::InService);
    ASSERT_NE(reason(failed, "comparison-failed"), nullptr);
    EXPECT_NE(said(failed, "comparison-failed").find("4 of 5 pairs"), std::string::npos);
    EXPECT_NE(said(failed, "comparison-failed").find("again today"), std::string::npos);
    EXPECT_TRUE(saysNext(failed, "Compare again"));
    EXPECT_TRUE(ward.entriesOf("meter.withdrawn").empty()) << "the repeat of the same day comes first";

    // A second pair outside in the same round is the same failure.
    ward.record(aPair(ward, "2026-05-10T09:40", "a6", "114", "100", "first"));
    EXPECT_TRUE(ward.entriesOf("meter.withdrawn").empty());

    ward.record(aPair(ward, "2026-05-10T11:00", "b1", "100", "100", "second"));
    EXPECT_TRUE(ward.fitness("2026-05-10T11:01").usable) << "what the repeat says so far";
    ward.record(aPair(ward, "2026-05-10T11:10", "b2", "114", "100", "second"));
    EXPECT_EQ(ward.fitness("2026-05-10T11:11").state, MeterState::Withdrawn);
    ward.record(aPair(ward, "2026-05-10T11:20", "b3", "114", "100", "second"));
    EXPECT_EQ(ward.entriesOf("meter.withdrawn").size(), 1U) << "one withdrawal a round";
    EXPECT_EQ(ward.fitness("2026-05-10T11:30").advice, Advice::Withdraw);

    // Back only with a passed comparison, two accepted sets and the coordinator's signature.
    ward.runSet("s2", "2026-05-10T12:00", "60", "300");
    ward.runSet("s3", "2026-05-10T13:00", "60", "300");
    const auto sign = [&] {
        return ward.refusalOf(acts::ReturnStep {
            ward.at("2026-05-10T15:00"), base::MeterId("M1"), base::OperatorId("C1"), ReturnStepKind::Signed, "a scratched sensor" });
    };
    ward.goTo("2026-05-10T15:00");
    EXPECT_NE(sign().find("no passed laboratory comparison"), std::string::npos);
    ward.record(aPair(ward, "2026-05-10T14:00", "c1", "100", "100", "third"));
    ward.goTo("2026-05-10T15:00");
    EXPECT_NE(sign().find("look-back"), std::string::npos);
    const auto lookbacks = ward.reader().lookbacks(base::MeterId("M1")).value();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "comparison-failed");
    ward.record(acts::LookbackAssigned {
        ward.at("2026-05-10T15:00"), base::OperatorId("C1"), lookbacks.front().seq, "Dr Marsh", base::parseDate("2026-05-17").value() });
    EXPECT_EQ(sign(), "");
    EXPECT_TRUE(ward.fitness("2026-05-10T15:01").usable);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S43_ASinglePairAfterAFailedRoundWithdrawsToo)
{
    WardWorld ward;
    ward.record(aPair(ward, "2026-05-10T09:10", "a1", "100", "100", "first"));
    ward.record(aPair(ward, "2026-05-10T09:11", "a2", "120", "100", "first"));
    ward.record(aPair(ward, "2026-05-10T11:00", "alone", "120", "100"));
    EXPECT_EQ(ward.fitness("2026-05-10T11:01").state, MeterState::Withdrawn);
}

TEST(Story, S43_FromTwentyPairsOnOneMayLieOutside)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    for (int i = 0; i < 19; ++i)
        ward.record(aPair(ward, "2026-05-10T09:" + std::to_string(10 + i), "a" + std::to_string(i), "100", "100", "big"));
    ward.record(aPair(ward, "2026-05-10T10:00", "a19", "114", "100", "big"));
    EXPECT_TRUE(ward.fitness("2026-05-10T10:01").usable) << "19 of 20 inside FPOC-a and all inside FPOC-b";
    ward.record(aPair(ward, "2026-05-10T10:10", "a20", "114", "100", "big"));
    EXPECT_FALSE(ward.fitness("2026-05-10T10:11").usable) << "19 of 21 are 90 %";
}

TEST(Story, AMeanBiasBeyondHalfTheLimitPointsToTheStripLotFirst)
{
    WardWorld ward;
    ward.runSet("s1", "2026-05-10T07:00", "60", "300");
    for (int i = 0; i < 3; ++i)
        ward.record(aPair(ward, "2026-05-10T09:1" + std::to_string(i), "a" + std::to_string(i), "108", "100", "r"));
    const Fitness biased = ward.fitness("2026-05-10T10:00");
    EXPECT_TRUE(biased.usable) << "every pair is inside";
    EXPECT_TRUE(saysNext(biased, "strip lot first"));
}

TEST(Story, ComparisonIsDueEveryInterval)
{
    Ground ground;
    ground.policy = { { "comparison_interval", "1 m" }, { "comparison_due_days", "7" } };
    WardWorld ward(ground);
    ward.record(aPair(ward, "2026-05-10T09:10", "a1", "100", "100", "first"));
    ward.record(aPair(ward, "2026-05-10T09:20", "a2", "101", "100", "first"));
    EXPECT_EQ(reason(ward.fitness("2026-06-03T09:19"), "comparison-due"), nullptr);
    EXPECT_NE(reason(ward.fitness("2026-06-03T09:20"), "comparison-due"), nullptr) << "a week before a month from the round's last pair";
    EXPECT_EQ(reason(ward.fitness("2026-06-10T09:19"), "comparison-overdue"), nullptr);
    ASSERT_NE(reason(ward.fitness("2026-06-10T09:20"), "comparison-overdue"), nullptr);
    EXPECT_TRUE(reason(ward.fitness("2026-06-10T09:20"), "comparison-overdue")->blocks);
}

TEST(Story, EqaSampleIsReturnedOnceInTheMetersUnitAndAttested)
{
    WardWorld ward;
    EXPECT_NE(ward.refusalOf(eqaResult(ward, "2026-05-05T09:00", "104")).find("record its receipt first"), std::string::npos);
    ward.record(eqaSampleOf(ward, "2026-05-05T10:00", "2026-05-19T12:00"));
    EXPECT_NE(ward.refusalOf(eqaSampleOf(ward, "2026-05-05T10:01", "2026-05-19T12:00")).find("already"), std::string::npos);
    EXPECT_NE(reason(ward.fitness("2026-05-06T00:00"), "eqa-due"), nullptr);

    auto result = eqaResult(ward, "2026-05-06T09:00", "104");
    auto notAttested = result;
    notAttested.attested = YesNo::No;
    EXPECT_NE(ward.refusalOf(notAttested).find("attestation"), std::string::npos);
    auto otherUnit = result;
    otherUnit.unit = base::GlucoseUnit::MmolPerL;
    EXPECT_NE(ward.refusalOf(otherUnit).find("shows mg/dL"), std::string::npos);
    ward.record(result);
    EXPECT_NE(ward.refusalOf(eqaResult(ward, "2026-05-06T10:00", "105")).find("returned once"), std::string::npos);
    EXPECT_EQ(reason(ward.fitness("2026-05-07T00:00"), "eqa-due"), nullptr);

    ward.record(eqaScore(ward, "2026-06-01T09:00")); // z 0.8
    auto reader = ward.reader();
    const auto row = store::boardRow(reader, base::MeterId("M1"), ward.at("2026-06-02T00:00"));
    ASSERT_TRUE(row);
    ASSERT_EQ(row->history.eqa.size(), 1U);
    EXPECT_EQ(row->history.eqa[0].scored->act.peers, "212");
    EXPECT_TRUE(ward.entriesOf("meter.withdrawn").empty()) << "satisfactory";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, EqaSampleThatFailsStopsTheMeterAsThePolicySays)
{
    for (const char* follows : { "withdraw", "hold", "none" }) {
        Ground ground;
        ground.policy = { { "eqa_failure", follows } };
        WardWorld ward(ground);
        ward.record(eqaSampleOf(ward, "2026-05-05T10:00", "2026-05-19T12:00"));
        ward.record(eqaResult(ward, "2026-05-06T09:00", "115")); // z 3
        EXPECT_EQ(ward.fitness("2026-05-20T00:00").state, MeterState::InService) << "not before the score is known";
        ward.record(eqaScore(ward, "2026-06-01T09:00"));
        const std::string_view word = follows;
        EXPECT_EQ(ward.fitness("2026-06-01T09:01").state,
            word == "withdraw"   ? MeterState::Withdrawn
                : word == "hold" ? MeterState::OnHold
                                 : MeterState::InService)
            << follows;
        EXPECT_EQ(ward.entriesOf("nonconformity.opened").size(), 1U) << "whatever it does to the meter";
        ward.goTo("2026-06-02T09:00");
        auto reviewed = eqaScore(ward, "2026-06-02T09:00");
        reviewed.cause = "strip vial";
        reviewed.reviewedBy = "Director";
        ward.record(reviewed);
        EXPECT_EQ(ward.entriesOf("meter.withdrawn").size() + ward.entriesOf("meter.held").size(), word == "none" ? 0U : 1U)
            << "told again, stopped once";
    }
}

TEST(Story, EqaSampleNotReturnedInTimeIsAFailureWithFollowUpAndStopsNothing)
{
    WardWorld ward;
    ward.record(eqaSampleOf(ward, "2026-05-05T10:00", "2026-05-19T12:00"));
    EXPECT_EQ(reason(ward.fitness("2026-05-19T23:59"), "eqa-missing"), nullptr) << "the whole day on which it is due";
    const Fitness missed = ward.fitness("2026-05-20T00:00");
    ASSERT_NE(reason(missed, "eqa-missing"), nullptr);
    EXPECT_FALSE(reason(missed, "eqa-missing")->blocks);
    EXPECT_TRUE(saysNext(missed, "in place of the proficiency sample"));
    ward.record(eqaResult(ward, "2026-05-21T09:00", "100"));
    ASSERT_NE(reason(ward.fitness("2026-05-21T09:01"), "eqa-missing"), nullptr) << "late is failed, however good";
    EXPECT_TRUE(ward.entriesOf("meter.withdrawn").empty());
    ward.record(aPair(ward, "2026-05-22T09:00", "p1", "100", "100"));
    EXPECT_EQ(reason(ward.fitness("2026-05-22T09:01"), "eqa-missing"), nullptr) << "the accuracy was shown in another way";
}

TEST(Story, ADriftOfOneMeterAmongSixIsTheMeters)
{
    WardWorld ward(olderGround());
    const Fitness fitness = afterADrift(ward, "60", "300");
    ASSERT_NE(reason(fitness, "drift"), nullptr);
    EXPECT_NE(said(fitness, "drift").find("it is this meter"), std::string::npos) << said(fitness, "drift");
    EXPECT_EQ(reason(fitness, "lot-effect"), nullptr);
}

TEST(Story, ADriftOfAllMetersTogetherIsTheLots)
{
    WardWorld ward(olderGround());
    const Fitness fitness = afterADrift(ward, "63.6", "310.8");
    ASSERT_NE(reason(fitness, "drift"), nullptr);
    ASSERT_NE(reason(fitness, "lot-effect"), nullptr) << said(fitness, "drift");
    EXPECT_FALSE(reason(fitness, "lot-effect")->blocks);
    EXPECT_TRUE(saysNext(fitness, "strip lot and the control vials first"));
    EXPECT_EQ(said(fitness, "drift").find("it is this meter"), std::string::npos);
}

} // namespace mk::journeys
