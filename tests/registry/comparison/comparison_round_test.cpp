// SPDX-License-Identifier: GPL-3.0-or-later
// Rounds of pairs: handbook 5.2 (what excludes), 5.3 to 5.5, S42 and S43.
#include "registry/comparison/calibration.h"
#include "registry/comparison/comparison.h"
#include "registry/comparison/eqa.h"
#include "registry/lots/lot_effect.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::decimal;

acts::ComparisonRecorded roundPair(const std::string& id, const std::string& lab, const std::string& meter)
{
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId(id);
    pair.meter = base::MeterId("M1");
    pair.meterAt = at("2026-05-04T08:00");
    pair.labAt = at("2026-05-04T08:04");
    pair.by = base::OperatorId("N1");
    pair.meterResult = parseReading(meter).value();
    pair.labResult = parseReading(lab).value();
    pair.unit = base::GlucoseUnit::MgPerDl;
    pair.round = "R1";
    return pair;
}

PairRecord judgedPair(const acts::ComparisonRecorded& pair)
{
    return { { 1 }, pair, judgePair(pair, nullptr, defaultPolicy()) };
}

/// So many pairs of laboratory 100 and meter 100, then those given.
std::vector<PairRecord> aRound(int inside, const std::vector<std::string>& others = {})
{
    std::vector<PairRecord> pairs;
    for (int i = 0; i < inside; ++i)
        pairs.push_back(judgedPair(roundPair("P" + std::to_string(i), "100", "100")));
    for (const auto& meter : others)
        pairs.push_back(judgedPair(roundPair("Q" + meter, "100", meter)));
    return pairs;
}

PairOutcome outcomeOfRound(const std::vector<PairRecord>& pairs)
{
    return judgeRound(pairs, defaultPolicy()).outcome;
}

std::string onlyExclusion(const acts::ComparisonRecorded& pair, const Policy& policy = defaultPolicy())
{
    const auto judged = judgePair(pair, nullptr, policy);
    EXPECT_EQ(judged.outcome == PairOutcome::Excluded, !judged.excludedBecause.empty());
    return judged.excludedBecause.size() == 1 ? judged.excludedBecause.front() : std::to_string(judged.excludedBecause.size()) + " reasons";
}

EqaSample aSample(const std::string& result, const std::string& assigned = "", const std::string& sd = "")
{
    EqaSample sample;
    sample.received = { { 1 },
        { at("2026-05-04T08:00"), base::OperatorId("C1"), "Ring", "2026-2", "A", at("2026-05-18T12:00"), base::MeterId("M1") } };
    if (!result.empty())
        sample.returned = Record<acts::EqaReturned> { { 2 },
            { at("2026-05-10T08:00"), base::OperatorId("N1"), "Ring", "2026-2", "A", base::StripVialId("V1"), parseReading(result).value(),
                base::GlucoseUnit::MgPerDl, {}, YesNo::Yes } };
    if (!assigned.empty())
        sample.scored = Record<acts::EqaScored> { { 3 },
            { at("2026-06-10T08:00"), base::OperatorId("C1"), "Ring", "2026-2", "A", decimal(assigned), decimal(sd) } };
    return sample;
}

EqaBand bandOf(const std::string& result, const std::string& time = "2026-06-11T08:00")
{
    return judgeEqa(aSample(result, "100", "5"), at(time), sample::berlin()).band;
}

} // namespace

TEST(ComparisonSample, CapillaryAfterAMealAgainstVenousIsExcluded)
{
    auto pair = roundPair("P1", "140", "145");
    pair.sampleType = "capillary";
    pair.labSampleType = "venous";
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside) << "not told is no breach";
    pair.fasting = YesNo::Yes;
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside);
    pair.fasting = YesNo::No;
    EXPECT_NE(onlyExclusion(pair).find("after a meal"), std::string::npos);
    pair.labSampleType = "Capillary";
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside) << "both capillary";
    pair.labSampleType = "venous";
    pair.sampleType = "venous";
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside) << "the same tube";
    pair.sampleType = "capillary";
    const PolicyPairs settings { { "capillary_fasting", "optional" } };
    EXPECT_EQ(judgePair(pair, nullptr, policyFrom(settings).value()).outcome, PairOutcome::Inside);
}

TEST(ComparisonSample, ATubeThatStoodTooLongIsExcludedUnlessCitrateHoldsIt)
{
    auto pair = roundPair("P1", "140", "140");
    pair.tube = "fluoride";
    pair.drawnAt = at("2026-05-04T08:00");
    pair.separatedAt = at("2026-05-04T08:30");
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside) << "thirty minutes are allowed";
    pair.separatedAt = at("2026-05-04T08:31");
    EXPECT_NE(onlyExclusion(pair).find("stood 31 minutes"), std::string::npos);
    pair.tube = "plain";
    EXPECT_NE(onlyExclusion(pair).find("used up glucose"), std::string::npos);
    pair.tube = "Citrate-buffered";
    EXPECT_EQ(judgePair(pair, nullptr, defaultPolicy()).outcome, PairOutcome::Inside);
    pair.tube = "fluoride";
    const PolicyPairs settings { { "separation_minutes", "60" } };
    EXPECT_EQ(judgePair(pair, nullptr, policyFrom(settings).value()).outcome, PairOutcome::Inside);
}

TEST(ComparisonRound, EveryPairMustBeInsideBelowTwenty)
{
    EXPECT_EQ(outcomeOfRound(aRound(1)), PairOutcome::Inside);
    EXPECT_EQ(outcomeOfRound(aRound(19)), PairOutcome::Inside);
    EXPECT_EQ(outcomeOfRound(aRound(4, { "113" })), PairOutcome::Outside) << "four of five are not enough";
    EXPECT_EQ(outcomeOfRound(aRound(18, { "113" })), PairOutcome::Outside);
    EXPECT_EQ(outcomeOfRound({}), PairOutcome::Excluded);
}

TEST(ComparisonRound, FromTwentyOnTheSharesSpeak)
{
    // FPOC: 95 % inside 12 % and 98 % inside 15 % of 100.
    EXPECT_EQ(outcomeOfRound(aRound(19, { "113" })), PairOutcome::Inside) << "19 of 20 inside a, all inside b";
    EXPECT_EQ(outcomeOfRound(aRound(19, { "116" })), PairOutcome::Outside) << "19 of 20 inside b are 95 %";
    EXPECT_EQ(outcomeOfRound(aRound(18, { "113", "114" })), PairOutcome::Outside);
    EXPECT_EQ(outcomeOfRound(aRound(49, { "116" })), PairOutcome::Inside) << "one beyond b is tolerable from fifty on";
    const RoundJudged judged = judgeRound(aRound(19, { "116" }), defaultPolicy());
    ASSERT_EQ(judged.tiers.size(), 2U);
    EXPECT_EQ(judged.tiers[0].tier, "FPOC-a");
    EXPECT_TRUE(judged.tiers[0].met());
    EXPECT_EQ(judged.tiers[1].within, 19U);
    EXPECT_EQ(judged.tiers[1].needed, 20U);
    EXPECT_FALSE(judged.tiers[1].met());
}

TEST(ComparisonRound, TellsWhatThePairsSayTogether)
{
    auto pairs = aRound(0, { "104", "108", "96" });
    auto late = roundPair("late", "100", "200");
    late.labAt = at("2026-05-04T09:00");
    pairs.push_back(judgedPair(late));
    const RoundJudged judged = judgeRound(pairs, defaultPolicy());
    EXPECT_EQ(judged.round, "R1");
    EXPECT_EQ(judged.used, 3U);
    EXPECT_EQ(judged.excluded, 1U) << "listed, not used";
    EXPECT_NEAR(judged.meanDifference, 8.0 / 3, 1e-12);
    EXPECT_NEAR(judged.meanPercent, 8.0 / 3, 1e-12);
    const double sd = std::sqrt((std::pow(4 - 8.0 / 3, 2) + std::pow(8 - 8.0 / 3, 2) + std::pow(-4 - 8.0 / 3, 2)) / 2);
    EXPECT_NEAR(judged.sd.value_or(0), sd, 1e-12);
    EXPECT_NEAR(judged.lower.value_or(0), 8.0 / 3 - 1.96 * sd, 1e-3);
    EXPECT_EQ(judged.worst, 1U);
    EXPECT_FALSE(judged.biasBeyondHalfLimit);
    EXPECT_TRUE(judgeRound(aRound(0, { "107", "108", "106" }), defaultPolicy()).biasBeyondHalfLimit) << "7 is more than half of 12";
}

TEST(ComparisonRound, ANamedSetBringsItsOwnLimits)
{
    const PolicyPairs iso { { "comparison_criteria", "ISO-15" } };
    const Policy policy = policyFrom(iso).value();
    EXPECT_EQ(judgePair(roundPair("P", "99", "114"), nullptr, policy).outcome, PairOutcome::Inside);
    EXPECT_EQ(judgePair(roundPair("P", "99", "115"), nullptr, policy).outcome, PairOutcome::Outside);
    EXPECT_EQ(judgePair(roundPair("P", "300", "345"), nullptr, policy).outcome, PairOutcome::Inside);
    const PolicyPairs l12 { { "comparison_criteria", "L12" } };
    EXPECT_EQ(policyFrom(l12)->comparisonTiers.size(), 2U);
    EXPECT_EQ(judgePair(roundPair("P", "100", "112.5"), nullptr, policyFrom(l12).value()).outcome, PairOutcome::Inside);
    const PolicyPairs wide { { "limit_percent", "20" } };
    ASSERT_EQ(policyFrom(wide)->comparisonTiers.size(), 1U) << "limits of one's own speak alone";
    EXPECT_EQ(policyFrom(wide)->comparisonTiers[0].name, "local");
}

TEST(ComparisonsOf, ARoundIsOneComparisonAndAPairAloneAnother)
{
    auto pairs = aRound(2, { "130" });
    auto alone = roundPair("alone", "100", "100");
    alone.round.reset();
    alone.meterAt = at("2026-05-04T10:00");
    alone.labAt = at("2026-05-04T10:01");
    pairs.push_back(judgedPair(alone));
    const Policy policy = defaultPolicy();
    const auto policyAt = [&](base::Moment) -> const Policy& { return policy; };
    const auto all = comparisonsOf(pairs, at("2026-05-05T00:00"), policyAt);
    ASSERT_EQ(all.size(), 2U);
    EXPECT_EQ(all[0].judged.outcome, PairOutcome::Outside);
    EXPECT_EQ(standingPair(all[0]).pair.pair, base::PairId("Q130")) << "the one farthest out";
    EXPECT_EQ(all[1].judged.outcome, PairOutcome::Inside);
    EXPECT_TRUE(comparisonsOf(pairs, at("2026-05-04T07:00"), policyAt).empty());
}

TEST(Calibration, AllThreePointsMustBeInside)
{
    acts::CalibrationVerified verified { at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId("C1"), "linearity set 3",
        base::GlucoseUnit::MgPerDl, decimal("50"), decimal("62"), decimal("150"), decimal("168"), decimal("400"), decimal("448") };
    EXPECT_TRUE(judgeCalibration(verified, defaultPolicy()).passed) << "each exactly on its limit";
    verified.midResult = decimal("168.1");
    const auto judged = judgeCalibration(verified, defaultPolicy());
    EXPECT_FALSE(judged.passed);
    EXPECT_TRUE(judged.points[0].inside);
    EXPECT_FALSE(judged.points[1].inside);
}

TEST(Eqa, BandsOfZAreExactAtTheirBounds)
{
    EXPECT_EQ(bandOf("110"), EqaBand::Satisfactory) << "|z| 2 is satisfactory";
    EXPECT_EQ(bandOf("110.1"), EqaBand::Questionable);
    EXPECT_EQ(bandOf("114.9"), EqaBand::Questionable);
    EXPECT_EQ(bandOf("115"), EqaBand::Action) << "|z| 3 is action";
    EXPECT_EQ(bandOf("85"), EqaBand::Action);
    EXPECT_EQ(bandOf("90"), EqaBand::Satisfactory);
    EXPECT_EQ(bandOf("HI"), EqaBand::Action);
    EXPECT_EQ(bandOf("ERR:E-4"), EqaBand::Action);
    EXPECT_EQ(judgeEqa(aSample("110", "100", "5"), at("2026-06-11T08:00"), sample::berlin()).z, 2.0);
    EXPECT_EQ(judgeEqa(aSample("6.2", "5.6", "0.3"), at("2026-06-11T08:00"), sample::berlin()).band, EqaBand::Satisfactory)
        << "decimals, no binary rounding";
}

TEST(Eqa, LateAndMissingReturnsAreFailures)
{
    EXPECT_EQ(judgeEqa(aSample(""), at("2026-05-18T23:59"), sample::berlin()).band, EqaBand::Waiting) << "the whole day on which it is due";
    EXPECT_FALSE(judgeEqa(aSample(""), at("2026-05-18T23:59"), sample::berlin()).failed);
    EXPECT_EQ(judgeEqa(aSample(""), at("2026-05-19T00:00"), sample::berlin()).band, EqaBand::Missing);
    EXPECT_TRUE(judgeEqa(aSample(""), at("2026-05-19T00:00"), sample::berlin()).failed);
    EXPECT_EQ(bandOf("100", "2026-05-09T00:00"), EqaBand::Waiting) << "asked before it was returned";
    EXPECT_EQ(bandOf("100", "2026-05-12T00:00"), EqaBand::Returned) << "asked before it was scored";
    auto late = aSample("100", "100", "5");
    late.returned->act.submittedAt = at("2026-05-19T00:00");
    const EqaJudged judged = judgeEqa(late, at("2026-06-11T08:00"), sample::berlin());
    EXPECT_EQ(judged.band, EqaBand::Late);
    EXPECT_TRUE(judged.failed) << "however good the result";
    EXPECT_EQ(judged.z, 0.0);
}

TEST(LotEffect, SaysWhetherTheMeterOrTheLotDeviates)
{
    const auto company = [](double own, double others, std::size_t meters) {
        DriftCompany part { Level::High, base::StripLotId("S1"), { 10, own }, {} };
        for (std::size_t i = 0; i < meters; ++i)
            part.others.push_back({ 10, others + 0.05 * static_cast<double>(i) });
        return std::vector { part };
    };
    const Policy policy = defaultPolicy();
    EXPECT_EQ(lotEffectOf(company(1.8, 0.0, 5), policy).finding, stats::DeviationFinding::Meter);
    EXPECT_EQ(lotEffectOf(company(1.8, 1.7, 5), policy).finding, stats::DeviationFinding::Lot);
    EXPECT_EQ(lotEffectOf(company(1.8, 1.7, 2), policy).finding, stats::DeviationFinding::Undecided) << "three meters are too few";
    EXPECT_EQ(lotEffectOf(company(1.8, 1.7, 5), policy).stripLot, base::StripLotId("S1"));
    EXPECT_EQ(lotEffectOf({}, policy).finding, stats::DeviationFinding::None);
}

} // namespace mk::registry
