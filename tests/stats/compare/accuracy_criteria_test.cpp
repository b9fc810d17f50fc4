// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/accuracy_criteria.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

namespace mk::stats {

namespace {

base::Decimal criterionTyped(const std::string& text)
{
    return base::Decimal::parse(text).value();
}

DecimalPair criterionPair(const std::string& reference, const std::string& test)
{
    return { criterionTyped(reference), criterionTyped(test) };
}

const CriterionTier* criterionTierNamed(std::string_view id, std::string_view tier)
{
    for (const Criterion& criterion : accuracyCriteria()) {
        for (const CriterionTier& one : criterion.tiers) {
            if (criterion.id == id && one.name == tier)
                return &one;
        }
    }
    return nullptr;
}

} // namespace

// reference/accuracy/criteria_cases.csv: exact rational arithmetic
TEST(JudgePair, AgreesWithEveryPublishedCase)
{
    const reference::ReferenceTable cases("accuracy/criteria_cases.csv");
    ASSERT_GE(cases.size(), 100U);
    for (std::size_t row = 0; row < cases.size(); ++row) {
        const auto* tier = criterionTierNamed(cases.text(row, "rule_id"), cases.text(row, "tier"));
        ASSERT_NE(tier, nullptr) << cases.text(row, "rule_id");
        const std::string where = cases.text(row, "rule_id") + ' ' + cases.text(row, "tier") + ' ' + cases.text(row, "reference") + '/'
            + cases.text(row, "meter");
        const auto verdict = judgePair(*tier, criterionPair(cases.text(row, "reference"), cases.text(row, "meter")));
        ASSERT_TRUE(verdict) << where;
        EXPECT_EQ(base::toText(verdict->limit), cases.text(row, "limit")) << where;
        EXPECT_EQ(base::toText(verdict->difference), cases.text(row, "difference")) << where;
        EXPECT_EQ(verdict->within ? "yes" : "no", cases.text(row, "within")) << where;
        EXPECT_EQ(verdict->exactlyOnLimit ? "yes" : "no", cases.text(row, "exactly_on_limit")) << where;
    }
}

TEST(JudgePair, HasNoVerdictBelowZero)
{
    EXPECT_FALSE(judgePair(*criterionTierNamed("fda_otc_2016", "95pct"), criterionPair("-1", "0")));
    EXPECT_TRUE(judgePair(*criterionTierNamed("fda_otc_2016", "95pct"), criterionPair("0", "0"))->exactlyOnLimit);
}

TEST(JudgePair, StaysExactWithTheLongestDecimals)
{
    const auto& tier = *criterionTierNamed("poct12_a3", "95pct");
    EXPECT_TRUE(judgePair(tier, criterionPair("100000.000000000", "112500.000000000"))->exactlyOnLimit);
    EXPECT_FALSE(judgePair(tier, criterionPair("100000.000000000", "112500.000000001"))->within);
    EXPECT_TRUE(judgePair(tier, criterionPair("999999999999999", "0.000000001"))->difference.mantissa < 0);
}

// reference/accuracy/criteria_min_counts.csv: ceiling of p*n in exact arithmetic
TEST(FewestWithin, IsTheExactCeiling)
{
    const reference::ReferenceTable counts("accuracy/criteria_min_counts.csv");
    for (std::size_t row = 0; row < counts.size(); ++row) {
        const auto n = static_cast<std::size_t>(counts.number(row, "n"));
        EXPECT_EQ(
            std::to_string(fewestWithin(criterionTyped(counts.text(row, "min_proportion")), n)), counts.text(row, "min_within_to_pass"))
            << counts.text(row, "min_proportion") << " of " << n;
    }
    EXPECT_EQ(fewestWithin(criterionTyped("1.00"), 7), 7U);
    EXPECT_EQ(fewestWithin(criterionTyped("0.95"), 0), 0U);
}

TEST(JudgeCriteria, MeetsAProportionExactly)
{
    std::vector<DecimalPair> pairs(19, criterionPair("100", "115"));
    pairs.push_back(criterionPair("100", "116"));
    const auto results = judgeCriteria(pairs, base::GlucoseUnit::MgPerDl);
    const auto iso = std::ranges::find(results, "iso15197_2013_mgdl", &CriterionResult::id);
    ASSERT_NE(iso, results.end());
    EXPECT_EQ(iso->within, 19U);
    EXPECT_EQ(iso->of, 20U);
    EXPECT_EQ(iso->needed, 19U);
    EXPECT_EQ(iso->percent, 95);
    EXPECT_EQ(iso->met, true);
    pairs.push_back(criterionPair("100", "116"));
    const auto fewer = judgeCriteria(pairs, base::GlucoseUnit::MgPerDl);
    EXPECT_EQ(std::ranges::find(fewer, "iso15197_2013_mgdl", &CriterionResult::id)->met, false);
}

TEST(JudgeCriteria, TakesTheCriteriaOfTheUnitOnly)
{
    const std::vector<DecimalPair> pairs = { criterionPair("5.0", "5.2") };
    std::multiset<std::string_view> judged;
    for (const auto unit : { base::GlucoseUnit::MgPerDl, base::GlucoseUnit::MmolPerL }) {
        for (const auto& result : judgeCriteria(pairs, unit))
            judged.insert(result.id);
    }
    for (const Criterion& criterion : accuracyCriteria())
        EXPECT_EQ(judged.count(criterion.id), criterion.unit ? criterion.tiers.size() : 0U) << criterion.id;
}

TEST(JudgeCriteria, JudgesNothingWithoutPairs)
{
    const std::vector<DecimalPair> negative = { criterionPair("-5", "5") };
    for (const auto& results : { judgeCriteria({}, base::GlucoseUnit::MgPerDl), judgeCriteria(negative, base::GlucoseUnit::MmolPerL) }) {
        EXPECT_FALSE(results.empty());
        for (const CriterionResult& result : results) {
            EXPECT_EQ(result.of, 0U) << result.id;
            EXPECT_FALSE(result.met || result.percent) << result.id;
        }
    }
}

TEST(AccuracyCriteria, CoverEveryReferenceValueOnce)
{
    for (const Criterion& criterion : accuracyCriteria()) {
        for (const CriterionTier& tier : criterion.tiers) {
            for (const char* value : { "0", "4.1", "4.2", "4.3", "5.55", "75", "99.9", "100", "600" })
                EXPECT_TRUE(judgePair(tier, criterionPair(value, value))) << criterion.id << ' ' << value;
        }
    }
}

} // namespace mk::stats
