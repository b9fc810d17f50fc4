// SPDX-License-Identifier: GPL-3.0-or-later
// Boundary vectors of handbook 5.4 (FPOC-a, limits inclusive) and pairing rules of 5.2.
#include "registry/comparison/comparison.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::decimal;

acts::ComparisonRecorded aPair(const std::string& lab, const std::string& meter, base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl)
{
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId("P1");
    pair.meter = base::MeterId("M1");
    pair.meterAt = at("2026-05-04T08:00");
    pair.labAt = at("2026-05-04T08:04");
    pair.by = base::OperatorId("N1");
    pair.meterResult = parseReading(meter).value();
    pair.labResult = parseReading(lab).value();
    pair.unit = unit;
    return pair;
}

PairOutcome outcomeOf(const acts::ComparisonRecorded& pair, const ModelRecord* model = nullptr)
{
    return judgePair(pair, model, defaultPolicy()).outcome;
}

PairOutcome outcomeOf(const std::string& lab, const std::string& meter, base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl)
{
    return outcomeOf(aPair(lab, meter, unit));
}

struct LimitVector {
    const char *lab, *low, *belowLow, *high, *aboveHigh;
};
void PrintTo(const LimitVector& vector, std::ostream* out)
{
    *out << "laboratory " << vector.lab;
}
class FpocA : public ::testing::TestWithParam<LimitVector> { };

} // namespace

TEST_P(FpocA, BoundsAreInside)
{
    const LimitVector& v = GetParam();
    EXPECT_EQ(outcomeOf(v.lab, v.low), PairOutcome::Inside) << v.low;
    EXPECT_EQ(outcomeOf(v.lab, v.belowLow), PairOutcome::Outside) << v.belowLow;
    EXPECT_EQ(outcomeOf(v.lab, v.high), PairOutcome::Inside) << v.high;
    EXPECT_EQ(outcomeOf(v.lab, v.aboveHigh), PairOutcome::Outside) << v.aboveHigh;
}

INSTANTIATE_TEST_SUITE_P(Handbook54, FpocA,
    ::testing::Values(LimitVector { "50", "38", "37", "62", "63" }, LimitVector { "74", "62", "61", "86", "87" },
        LimitVector { "75", "66", "65", "84", "85" }, LimitVector { "99", "87.12", "87.11", "110.88", "110.89" },
        LimitVector { "100", "88", "87", "112", "113" }, LimitVector { "300", "264", "263", "336", "337" }));

TEST(JudgePair, ComparesDecimalsExactly)
{
    // 12 % of 79.9 is 9.588; 0.1 and its like have no exact binary form.
    EXPECT_EQ(outcomeOf("79.9", "89.488"), PairOutcome::Inside);
    EXPECT_EQ(outcomeOf("79.9", "89.489"), PairOutcome::Outside);
    EXPECT_EQ(outcomeOf("74.9", "86.9"), PairOutcome::Inside);
    EXPECT_EQ(outcomeOf("74.9", "86.91"), PairOutcome::Outside);
    EXPECT_EQ(outcomeOf("75.0", "84.0"), PairOutcome::Inside) << "75.0 is 75: the percentage applies";
    EXPECT_EQ(outcomeOf("75.0", "84.1"), PairOutcome::Outside);
}

TEST(JudgePair, HasItsOwnThresholdInMmol)
{
    // Handbook 5.4: 75 mg/dL stands beside 4.2 mmol/L, 12 mg/dL beside 0.67 mmol/L.
    EXPECT_EQ(outcomeOf("4.1", "4.77", base::GlucoseUnit::MmolPerL), PairOutcome::Inside);
    EXPECT_EQ(outcomeOf("4.1", "4.78", base::GlucoseUnit::MmolPerL), PairOutcome::Outside);
    EXPECT_EQ(outcomeOf("5.0", "5.6", base::GlucoseUnit::MmolPerL), PairOutcome::Inside);
    EXPECT_EQ(outcomeOf("5.0", "5.61", base::GlucoseUnit::MmolPerL), PairOutcome::Outside);
}

TEST(JudgePair, SaysItsLimitsWithTheirUnit)
{
    EXPECT_EQ(judgePair(aPair("75", "80"), nullptr, defaultPolicy()).limits, "66 to 84 mg/dL");
    EXPECT_EQ(judgePair(aPair("74", "80"), nullptr, defaultPolicy()).limits, "62 to 86 mg/dL");
}

TEST(JudgePair, ExcludesWhatLiesTooFarApart)
{
    auto pair = aPair("140", "180");
    pair.labAt = at("2026-05-04T08:15");
    EXPECT_EQ(outcomeOf(pair), PairOutcome::Outside) << "fifteen minutes are still a pair";
    pair.labAt = at("2026-05-04T08:16");
    const auto judged = judgePair(pair, nullptr, defaultPolicy());
    EXPECT_EQ(judged.outcome, PairOutcome::Excluded);
    EXPECT_EQ(judged.excludedBecause.size(), 1U);
    EXPECT_TRUE(judged.limits.empty());
    std::swap(pair.meterAt, pair.labAt);
    EXPECT_EQ(outcomeOf(pair), PairOutcome::Excluded) << "whichever came first";
}

TEST(JudgePair, ExcludesAHaematocritOutsideTheClaim)
{
    const sample::Materials m; // claim 20 to 65
    auto pair = aPair("100", "100");
    EXPECT_EQ(outcomeOf(pair, &m.model), PairOutcome::Inside) << "not given is no reason";
    for (const char* inside : { "20", "65" }) {
        pair.haematocrit = decimal(inside);
        EXPECT_EQ(outcomeOf(pair, &m.model), PairOutcome::Inside) << inside;
    }
    for (const char* outside : { "19.9", "65.1" }) {
        pair.haematocrit = decimal(outside);
        EXPECT_EQ(outcomeOf(pair, &m.model), PairOutcome::Excluded) << outside;
    }
}

TEST(JudgePair, ExcludesWhatIsNoNumberOrNotTheMetersUnit)
{
    const sample::Materials m;
    EXPECT_EQ(outcomeOf(aPair("100", "HI"), &m.model), PairOutcome::Excluded);
    EXPECT_EQ(outcomeOf(aPair("100", "ERR:E-4"), &m.model), PairOutcome::Excluded);
    EXPECT_EQ(outcomeOf(aPair("5.5", "5.5", base::GlucoseUnit::MmolPerL), &m.model), PairOutcome::Excluded);
}

TEST(PairTarget, AnOlderPairIsAdmissibleAndMarked)
{
    const auto apart = [](const char* labAt, const Policy& policy = defaultPolicy()) {
        auto pair = aPair("100", "100");
        pair.labAt = at(labAt);
        return PairRecord { { 1 }, pair, judgePair(pair, nullptr, policy) };
    };
    EXPECT_FALSE(beyondTarget(apart("2026-05-04T08:05"), defaultPolicy())) << "the target itself is kept";
    EXPECT_TRUE(beyondTarget(apart("2026-05-04T08:05:01"), defaultPolicy()));
    EXPECT_TRUE(beyondTarget(apart("2026-05-04T07:50"), defaultPolicy())) << "the laboratory's sample may come first";
    EXPECT_EQ(apart("2026-05-04T08:15").judged.outcome, PairOutcome::Inside);
    EXPECT_TRUE(beyondTarget(apart("2026-05-04T08:15"), defaultPolicy()));
    EXPECT_EQ(apart("2026-05-04T08:16").judged.outcome, PairOutcome::Excluded);
    EXPECT_FALSE(beyondTarget(apart("2026-05-04T08:16"), defaultPolicy())) << "an excluded pair says why itself";
    Policy patient = defaultPolicy();
    patient.pairTargetMinutes = 10;
    EXPECT_FALSE(beyondTarget(apart("2026-05-04T08:10", patient), patient));
    EXPECT_EQ(minutesApart(apart("2026-05-04T08:05:01").pair), 6);
    // What is recorded of it is what was recorded before there was a target.
    EXPECT_EQ(apart("2026-05-04T08:10", patient).judged.outcome, apart("2026-05-04T08:10").judged.outcome);
    EXPECT_EQ(apart("2026-05-04T08:10", patient).judged.excludedBecause, apart("2026-05-04T08:10").judged.excludedBecause);
}

} // namespace mk::registry
