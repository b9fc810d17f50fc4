// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/values.h"

#include "base/result.h"
#include "stats/control_rules.h"
#include "stats/drift.h"

#include <span>
#include <string>
#include <utility>
#include <vector>

namespace mk::registry {

enum class RuleRole { Warn, Reject };

struct RuleChoice {
    stats::Rule rule;
    RuleRole role;
};

/// What the ward has decided; one version of it. The defaults and their reasons stand in handbook 13.
struct Policy {
    std::int64_t version = 1;

    enum class Clearance { Elapsed, Calendar };
    Clearance clearance = Clearance::Elapsed;
    int clearanceHours = 24;
    int dayBoundaryMinutes = 0; ///< calendar rule: minutes after midnight
    std::vector<Level> requiredLevels = { Level::Low, Level::High };
    int setWindowMinutes = 30;

    std::vector<RuleChoice> rules;
    stats::RangeReading rangeReading = stats::RangeReading::Opposite;
    stats::DriftSettings drift;

    base::Period comparisonInterval { 6, base::Period::Unit::Months };
    int comparisonDueDays = 30;  ///< how long before it `comparison-due` is said
    int pairWindowMinutes = 15;
    /// FPOC-a: below the threshold an absolute limit, else a percentage of the reference value; a pair of figures a unit
    base::Decimal limitThreshold, limitBelow, limitThresholdMmol, limitBelowMmol, limitPercent;

    int dueSoonHours = 8;        ///< how long before it `control-due` is said: a shift
    int errorCodes = 3, errorCodeHours = 24;
    int returnSets = 2;          ///< accepted sets in a row to come back from withdrawn
    std::optional<base::Period> cleaningInterval;
    int confirmAfterHours = 24;  ///< a later correction needs a second person
    double sdiCaution = 1.5, sdiAction = 2.0;
    int groupMeters = 5, groupResults = 20;

    RuleRole roleOf(stats::Rule rule) const;
};

/// One line of a policy document: its key, its text, and where the default comes from.
struct PolicySetting {
    std::string key, text, source;
};

std::vector<PolicySetting> defaultPolicySettings();

/// input   every key once or not at all (then the default holds)
/// errors  BadInput naming the key: unknown, or a text that it cannot take
base::Result<Policy> policyFrom(std::span<const std::pair<std::string, std::string>> settings);
Policy defaultPolicy();

/// The version of the rules that this program judges by; goes up when a rule is mended.
inline constexpr std::int64_t kRuleSet = 2; // 2: across the levels whole sets are read

} // namespace mk::registry
