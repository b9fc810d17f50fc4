// SPDX-License-Identifier: GPL-3.0-or-later
// The policy as a document: handbook 4.1, 13; faults, shifts, grace.
#include "registry/meter/fitness.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

#include <map>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;

Policy withSettings(const PolicyPairs& settings)
{
    const auto policy = policyFrom(settings);
    EXPECT_TRUE(policy) << policy.error().text;
    return policy ? *policy : defaultPolicy();
}

std::string clearedBy(const PolicyPairs& settings, std::string_view accepted)
{
    return base::toText(clearedUntil(at(accepted), withSettings(settings), berlin())).substr(0, 16);
}

} // namespace

TEST(PolicyDocument, HasTheHandbooksFurtherDefaults)
{
    const Policy policy = defaultPolicy();
    EXPECT_EQ(policy.graceMinutes, 0);
    EXPECT_TRUE(policy.shiftBoundaryMinutes.empty());
    EXPECT_EQ(policy.competencyInterval, (base::Period { 12, base::Period::Unit::Months }));
    EXPECT_EQ(policy.competencyFirstYear, (base::Period { 6, base::Period::Unit::Months }));
    EXPECT_EQ(policy.retentionYears, 2);
    EXPECT_EQ(policy.lateEntryMinutes, 15);
    EXPECT_EQ(policy.pastEntryHours, 12);
    EXPECT_TRUE(policy.secondPerson);
    EXPECT_EQ(policy.repeatsPerStep, 1);
    EXPECT_EQ(policy.stockDays, 30);
    EXPECT_EQ(policy.dueSoonDays, 30);
    EXPECT_EQ(policy.reviewDueDay, 10);
    EXPECT_EQ(policy.autoLogoffMinutes, 5);
    EXPECT_EQ(policy.pairTargetMinutes, 5);
    EXPECT_EQ(policy.separationMinutes, 30);
    EXPECT_FALSE(policy.calibrationInterval) << "only where the profile asks";
    EXPECT_EQ(policy.driftBlocks, DriftBlocks::HalfLimit);
    EXPECT_EQ(policy.reserveControlInterval, (base::Period { 1, base::Period::Unit::Months }));
    ASSERT_EQ(policy.comparisonTiers.size(), 2U);
    EXPECT_EQ(policy.comparisonTiers[0].name, "FPOC-a");
    EXPECT_EQ(policy.comparisonTiers[1].name, "FPOC-b");
}

TEST(PolicyDocument, ListsEveryFaultAtItsPlace)
{
    const PolicyPairs document { { "clearance", "daily" }, { "grace_minutes", "10" }, { "gracious", "1" }, { "grace_minutes", "20" },
        { "shift_boundaries", "15:00 07:00" }, { "calibration_interval", "half a year" }, { "drift_blocks", "sometimes" },
        { "eqa_failure", "retire" }, { "comparison_criteria", "EN" }, { "review_due_day", "31" } };
    const auto faults = policyFaults(document);
    ASSERT_EQ(faults.size(), 9U);
    for (const auto& fault : faults)
        EXPECT_NE(fault.text.find("'" + document[fault.at].first + "'"), std::string::npos) << fault.text;
    EXPECT_EQ(faults[0].at, 0U);
    EXPECT_EQ(faults[1].at, 2U);
    EXPECT_EQ(faults[2].at, 3U);
    EXPECT_NE(faults[2].text.find("twice"), std::string::npos);
    EXPECT_TRUE(policyFaults({}).empty());
    EXPECT_FALSE(policyFrom(document));
}

TEST(PolicyDocument, IsCompletedWithItsDefaultsInTheirOrder)
{
    const PolicyPairs document { { "grace_minutes", "10" } };
    const PolicyPairs whole = completePolicy(document);
    const auto defaults = defaultPolicySettings();
    ASSERT_EQ(whole.size(), defaults.size());
    // What it leaves out means what was so before there was that setting.
    const std::map<std::string, std::string> otherwise { { "grace_minutes", "10" }, { "cusum_k", "0.5" },
        { "drift_method", "group-target" }, { "rule_reference", "target" } };
    for (std::size_t i = 0; i < whole.size(); ++i) {
        EXPECT_EQ(whole[i].first, defaults[i].key);
        const auto other = otherwise.find(whole[i].first);
        EXPECT_EQ(whole[i].second, other == otherwise.end() ? defaults[i].text : other->second) << whole[i].first;
    }
}

TEST(PolicyDocument, TheSlackIsThatOfItsMethod)
{
    EXPECT_EQ(policyFrom(PolicyPairs { { "profile", "older" } })->drift.k, 0.5);
    EXPECT_EQ(policyFrom(PolicyPairs { { "drift_method", "own-usual" } })->drift.k, 1);
    EXPECT_EQ(policyFrom(PolicyPairs { { "drift_method", "own-usual" } })->ruleReference, RuleReference::Target);
    EXPECT_EQ(defaultPolicy().driftMethod, DriftMethod::OwnUsual);
    EXPECT_EQ(defaultPolicy().ruleReference, RuleReference::Usual);
    EXPECT_FALSE(policyFrom(PolicyPairs { { "base_results", "60 20" } }));
    EXPECT_FALSE(policyFrom(PolicyPairs { { "drift_rules", "1-3s" } }));
    EXPECT_TRUE(policyFrom(PolicyPairs { { "drift_rules", "4-1s,EWMA" } })->driftRules.ewma);
}

TEST(PolicyDocument, ATypedKeyThatIsUnknownIsAnsweredWithTheNearestKnownOne)
{
    EXPECT_EQ(nearestSetting("clearence"), "clearance");
    EXPECT_EQ(nearestSetting("new_strip_vail"), "new_strip_vial");
    EXPECT_EQ(nearestSetting(std::string(100'000, 'x')).empty(), false);
    const auto faults = policyFaults(PolicyPairs { { "retention_year", "3" } });
    ASSERT_EQ(faults.size(), 1U);
    EXPECT_NE(faults[0].text.find("'retention_years'"), std::string::npos) << faults[0].text;
}

TEST(PolicyDocument, OnRecordItsUnknownKeysAreKeptAndDecideNothing)
{
    const PolicyPairs newer { { "grace_minutes", "10" }, { "moon_phase", "full" } };
    EXPECT_FALSE(policyFrom(newer));
    const auto policy = policyOnRecord(newer);
    ASSERT_TRUE(policy) << policy.error().text;
    EXPECT_EQ(policy->graceMinutes, 10);
    EXPECT_EQ(policy->clearanceHours, 24);
    EXPECT_EQ(unknownSettings(newer), (PolicyPairs { { "moon_phase", "full" } }));
    EXPECT_FALSE(policyOnRecord(PolicyPairs { { "grace_minutes", "soon" } }))
        << "a known key whose text cannot be read decides nothing silently";
}

TEST(PolicyDocument, WhatANewLotOrVialAsksForIsReadIntoThePolicy)
{
    EXPECT_EQ(defaultPolicy().newStripLot, NewStripLot::Control);
    EXPECT_EQ(defaultPolicy().newStripVial, NewStripVial::FirstMeter);
    EXPECT_EQ(defaultPolicy().newControlVial, NewControlVial::NoControl);
    const Policy other = withSettings(
        { { "new_strip_lot", "insert" }, { "new_strip_vial", "every-meter" }, { "new_control_vial", "beside" } });
    EXPECT_EQ(other.newStripLot, NewStripLot::Insert);
    EXPECT_EQ(other.newStripVial, NewStripVial::EveryMeter);
    EXPECT_EQ(other.newControlVial, NewControlVial::Beside);
    EXPECT_EQ(withSettings({ { "new_strip_vial", "insert" } }).newStripVial, NewStripVial::Insert);
}

TEST(PolicyDocument, NeverDerivesAnSdFromTheRange)
{
    for (const auto& setting : defaultPolicySettings())
        EXPECT_EQ(setting.key.find("sd_from"), std::string::npos) << "no setting lets a range stand for an SD";
}

TEST(ClearedUntil, EndsWithTheShiftWhereEachShiftControls)
{
    const PolicyPairs shifts { { "shift_boundaries", "07:00 15:00 23:00" } };
    EXPECT_EQ(clearedBy(shifts, "2026-05-04T06:59"), "2026-05-04T07:00");
    EXPECT_EQ(clearedBy(shifts, "2026-05-04T07:00"), "2026-05-04T15:00") << "on the boundary the new shift has begun";
    EXPECT_EQ(clearedBy(shifts, "2026-05-04T16:00"), "2026-05-04T23:00");
    EXPECT_EQ(clearedBy(shifts, "2026-05-04T23:30"), "2026-05-05T07:00");
    EXPECT_EQ(clearedBy({ { "shift_boundaries", "02:30 14:30" } }, "2026-03-28T15:00"), "2026-03-29T03:30")
        << "02:30 does not exist that night";
}

TEST(ClearedUntil, LastsForTheGraceThatTheWardGives)
{
    EXPECT_EQ(clearedBy({ { "grace_minutes", "30" } }, "2026-05-04T07:00"), "2026-05-05T07:30");
    EXPECT_EQ(clearedBy({ { "grace_minutes", "30" }, { "shift_boundaries", "07:00 19:00" } }, "2026-05-04T08:00"), "2026-05-04T19:30");
    EXPECT_EQ(clearedBy({ { "grace_minutes", "15" }, { "clearance", "calendar" }, { "day_boundary", "07:00" } }, "2026-05-04T08:00"),
        "2026-05-05T07:15");
}

} // namespace mk::registry
