// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include "base/result.h"
#include "stats/rules/control_rules.h"
#include "stats/drift/drift.h"

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

/// How far a meter may lie from the laboratory, and how many pairs of a round must keep to it once there are enough of them.
/// below the threshold an absolute limit, else a percentage of the laboratory's value; a pair of figures a unit
struct ComparisonTier {
    std::string name;
    base::Decimal threshold, below, thresholdMmol, belowMmol, percent;
    base::Decimal share; ///< at least this part of the pairs: 0.95
};

enum class DriftBlocks { HalfLimit, Never, Always };
enum class EqaFailure { Withdraw, Hold, None };

/// What a lot or a vial that comes into use asks for (handbook 4.1, D2 to D4; lots/new_material.h).
/// Insert: the maker's insert decides, the registry reminds.
enum class NewStripLot { Control, Insert };
enum class NewStripVial { FirstMeter, EveryMeter, Insert };
enum class NewControlVial { NoControl, Beside };

/// What the ward has decided; one version of it. The defaults and their reasons stand in handbook 13.
struct Policy {
    std::int64_t version = 1;
    std::optional<base::Moment> since; ///< in force from; none: from the beginning
    std::string profile;

    enum class Clearance { Elapsed, Calendar };
    Clearance clearance = Clearance::Elapsed;
    int clearanceHours = 24;
    int dayBoundaryMinutes = 0;            ///< calendar rule: minutes after midnight
    std::vector<int> shiftBoundaryMinutes; ///< a control a shift: minutes after midnight, ascending; empty: no such rule
    int graceMinutes = 0;                  ///< how long after it is due a control still counts as in time
    NewStripLot newStripLot = NewStripLot::Control;
    NewStripVial newStripVial = NewStripVial::FirstMeter;
    NewControlVial newControlVial = NewControlVial::NoControl;
    std::vector<Level> requiredLevels = { Level::Low, Level::High };
    int setWindowMinutes = 30;

    std::vector<RuleChoice> rules;
    stats::RangeReading rangeReading = stats::RangeReading::Opposite;
    stats::DriftSettings drift;

    base::Period comparisonInterval { 6, base::Period::Unit::Months };
    int comparisonDueDays = 30; ///< how long before it `comparison-due` is said
    int pairWindowMinutes = 15;
    int pairTargetMinutes = 5;
    int separationMinutes = 30;   ///< a tube may stand so long before it is spun
    bool capillaryFasting = true; ///< capillary on the meter against venous blood only from fasting people
    /// Every pair is held to these (FPOC-a): below the threshold an absolute limit, else a percentage of the reference value; a pair of
    /// figures a unit
    base::Decimal limitThreshold, limitBelow, limitThresholdMmol, limitBelowMmol, limitPercent;
    std::vector<ComparisonTier> comparisonTiers; ///< what a round is held to; the limits above are the first of them
    std::optional<base::Period> calibrationInterval;
    EqaFailure eqaFailure = EqaFailure::Withdraw;
    DriftBlocks driftBlocks = DriftBlocks::HalfLimit;
    std::optional<base::Period> reserveControlInterval;

    int dueSoonHours = 8; ///< how long before it `control-due` is said: a shift
    int errorCodes = 3, errorCodeHours = 24;
    int returnSets = 2; ///< accepted sets in a row to come back from withdrawn
    std::optional<base::Period> cleaningInterval;
    bool lookbackAfterRepeat = true; ///< a control that passed on the ladder's second or third step leaves a look-back
    int confirmAfterHours = 24;      ///< a later correction needs a second person
    int pastEntryHours = 12;         ///< a run further back than this needs its paper's number or a reason
    int lateEntryMinutes = 15;       ///< entered later than this after its own time is "recorded late"
    int repeatsPerStep = 1;
    int reviewDueDay = 10; ///< of the month after
    int autoLogoffMinutes = 5;
    int signInTries = 5, signInLockMinutes = 15;
    bool recordOffline = false; ///< while the server is away, what was typed may be kept here and delivered later
    int backupDays = 1;         ///< how old the newest checked copy may be
    int retentionYears = 2;
    bool secondPerson = true; ///< an amendment that changes a verdict needs one
    double sdiCaution = 1.5, sdiAction = 2.0;
    int groupMeters = 5, groupResults = 20;
    bool controlAfterTransfer = true; ///< a meter that changed wards owes a control there before its use
    base::Period competencyInterval { 12, base::Period::Unit::Months };
    base::Period competencyFirstYear { 6, base::Period::Unit::Months }; ///< twice in the first year
    int dueSoonDays = 30;      ///< how long before its end a competency, and a calibration, is said to be due
    int sameBadgeMinutes = 10; ///< a second sign-in elsewhere so soon after the first is listed

    int releaseMeters = 3, releaseReplicates = 2, releaseSamples = 5; ///< what a new strip lot must show before it is released
    int stockDays = 30;                                               ///< how long before it stock is said to expire soon
    int stockVials = 2;                                               ///< so many unopened vials or fewer: the lot runs low

    RuleRole roleOf(stats::Rule rule) const;
};

/// Who reads a setting: what answers differently where its value differs.
enum class SettingUse {
    Shown,       ///< a name for people
    Fitness,     ///< may this meter be used, until when, what is asked of it
    Verdict,     ///< what a control set is judged to be
    Comparison,  ///< what a pair with the laboratory is worth
    Consequence, ///< what follows from a failure, and what ends it
    People,      ///< competency and sign-ins
    Records,     ///< late entries and amendments
    Month,       ///< the review
    SignIn,      ///< the way in and out of a workstation
    Keeping,     ///< copies, and for how long records are kept
    Lots         ///< release, stock, and what a control vial owes
};
template <>
struct Words<SettingUse> {
    static constexpr std::string_view what = "use of a setting";
    static constexpr std::string_view all[] = { "shown", "fitness", "verdict", "comparison", "consequence", "people", "records", "month",
        "sign-in", "keeping", "lots" };
};

/// One line of a policy document: its key, its text, where the default comes from, and who reads it.
struct PolicySetting {
    std::string key, text, source;
    SettingUse use {};
};

using PolicyPairs = std::vector<std::pair<std::string, std::string>>;

std::vector<PolicySetting> defaultPolicySettings();
/// A document in full: every setting, in the order of the table, with what the document gives or else its default.
PolicyPairs completePolicy(std::span<const std::pair<std::string, std::string>> settings);

/// The lines of a document that no setting of this program is called; a document on record keeps them.
PolicyPairs unknownSettings(std::span<const std::pair<std::string, std::string>> settings);
/// The setting whose key is most like that one.
std::string_view nearestSetting(std::string_view key);

/// What is wrong with one line of a document; `at` is its place in the settings.
struct PolicyFault : base::Fault {
    std::size_t at = 0;
};
/// Everything that is wrong with a document, in its own order; empty where policyFrom takes it.
std::vector<PolicyFault> policyFaults(std::span<const std::pair<std::string, std::string>> settings);

/// input   every key once or not at all (then the default holds)
/// errors  BadInput naming the key: unknown, or a text that it cannot take
base::Result<Policy> policyFrom(std::span<const std::pair<std::string, std::string>> settings);
/// A document that stands in the journal: an older or a newer program wrote it, and its keys that are not known here decide nothing here.
/// errors  BadInput naming the key: a text that it cannot take
base::Result<Policy> policyOnRecord(std::span<const std::pair<std::string, std::string>> settings);
Policy defaultPolicy();

/// The version of the rules that this program judges by; goes up when a rule is mended.
inline constexpr std::int64_t kRuleSet = 2; // 2: across the levels whole sets are read

} // namespace mk::registry
