// SPDX-License-Identifier: GPL-3.0-or-later
// Defaults of handbook 13.
#include "registry/policy/policy.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using Settings = std::vector<std::pair<std::string, std::string>>;

std::string refusal(const Settings& settings)
{
    const auto policy = policyFrom(settings);
    return policy ? std::string() : policy.error().text;
}

} // namespace

TEST(Policy, HasTheHandbooksDefaults)
{
    const Policy policy = defaultPolicy();
    EXPECT_EQ(policy.version, 1);
    EXPECT_EQ(policy.setWindowMinutes, 30);
    EXPECT_EQ(policy.clearance, Policy::Clearance::Elapsed);
    EXPECT_EQ(policy.clearanceHours, 24);
    EXPECT_EQ(policy.dayBoundaryMinutes, 0);
    EXPECT_EQ(policy.requiredLevels, (std::vector<Level> { Level::Low, Level::High }));
    EXPECT_FALSE(policy.cleaningInterval);
    EXPECT_EQ(policy.roleOf(stats::Rule::OneTwoS), RuleRole::Warn);
    EXPECT_EQ(policy.roleOf(stats::Rule::OneThreeS), RuleRole::Reject);
    EXPECT_EQ(policy.roleOf(stats::Rule::TwoTwoS), RuleRole::Reject);
    EXPECT_EQ(policy.roleOf(stats::Rule::RFourS), RuleRole::Reject);
    EXPECT_EQ(policy.roleOf(stats::Rule::FourOneS), RuleRole::Warn);
    EXPECT_EQ(policy.roleOf(stats::Rule::TenX), RuleRole::Warn);
    EXPECT_EQ(policy.rules.size(), 6U);
    EXPECT_EQ(policy.rangeReading, stats::RangeReading::Opposite);
    EXPECT_DOUBLE_EQ(policy.drift.lambda, 0.2);
    EXPECT_DOUBLE_EQ(policy.drift.width, 3);
    EXPECT_DOUBLE_EQ(policy.drift.k, 1);
    EXPECT_DOUBLE_EQ(policy.drift.h, 4);
    EXPECT_EQ(policy.returnSets, 2);
    EXPECT_EQ(policy.comparisonInterval, (base::Period { 6, base::Period::Unit::Months }));
    EXPECT_EQ(policy.pairWindowMinutes, 15);
    EXPECT_EQ(policy.limitThreshold.typed(), "75");
    EXPECT_EQ(policy.limitBelow.typed(), "12");
    EXPECT_EQ(policy.limitPercent.typed(), "12");
    EXPECT_EQ(policy.errorCodes, 3);
    EXPECT_EQ(policy.errorCodeHours, 24);
    EXPECT_EQ(policy.confirmAfterHours, 24);
    EXPECT_DOUBLE_EQ(policy.sdiCaution, 1.5);
    EXPECT_DOUBLE_EQ(policy.sdiAction, 2.0);
    EXPECT_EQ(policy.groupMeters, 5);
    EXPECT_EQ(policy.groupResults, 20);
}

TEST(Policy, EveryDefaultSettingReadsBack)
{
    Settings all;
    for (const auto& setting : defaultPolicySettings()) {
        EXPECT_FALSE(setting.source.empty()) << setting.key;
        all.emplace_back(setting.key, setting.text);
    }
    EXPECT_EQ(refusal(all), "");
}

TEST(Policy, TakesOtherValues)
{
    const Settings settings { { "clearance", "calendar" }, { "day_boundary", "07:00" }, { "required_levels", "high low normal" },
        { "rules", "1-3s,8x:warn" }, { "cleaning_interval", "7 d" }, { "comparison_interval", "30 d" } };
    const auto policy = policyFrom(settings);
    ASSERT_TRUE(policy) << policy.error().text;
    EXPECT_EQ(policy->clearance, Policy::Clearance::Calendar);
    EXPECT_EQ(policy->dayBoundaryMinutes, 7 * 60);
    EXPECT_EQ(policy->requiredLevels, (std::vector<Level> { Level::Low, Level::Normal, Level::High }));
    ASSERT_EQ(policy->rules.size(), 2U);
    EXPECT_EQ(policy->rules[0].role, RuleRole::Reject) << "the default role";
    EXPECT_EQ(policy->rules[1].role, RuleRole::Warn);
    EXPECT_EQ(policy->cleaningInterval, (base::Period { 7, base::Period::Unit::Days }));
    EXPECT_EQ(policy->comparisonInterval, (base::Period { 30, base::Period::Unit::Days }));
}

TEST(Policy, RefusesAnUnknownKey)
{
    EXPECT_NE(refusal({ { "clearence", "elapsed" } }).find("'clearence'"), std::string::npos);
}

TEST(Policy, RefusesAKeyGivenTwice)
{
    EXPECT_NE(refusal({ { "return_sets", "2" }, { "return_sets", "3" } }).find("'return_sets' twice"), std::string::npos);
}

TEST(Policy, RefusesABadValueAndNamesItsKey)
{
    const Settings bad { { "clearance", "daily" }, { "clearance_hours", "0" }, { "clearance_hours", "24h" }, { "clearance_hours", "" },
        { "day_boundary", "25:00" }, { "day_boundary", "7" }, { "required_levels", "" }, { "required_levels", "low low" },
        { "required_levels", "middle" }, { "set_window_minutes", "-30" }, { "rules", "1-4s" }, { "rules", "1-3s:stop" },
        { "r4s_reading", "both" }, { "ewma_lambda", "0" }, { "ewma_lambda", "1.1" }, { "cusum_h", "x" }, { "comparison_interval", "6" },
        { "limit_percent", "0" }, { "limit_below", "-12" }, { "error_codes", "0" }, { "cleaning_interval", "weekly" } };
    for (const auto& setting : bad)
        EXPECT_NE(refusal({ setting }).find("'" + setting.first + "'"), std::string::npos) << setting.first << " = " << setting.second;
}

} // namespace mk::registry
