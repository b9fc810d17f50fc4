// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include "base/result.h"
#include "stats/rules/control_rules.h"
#include "stats/drift/drift.h"
#include "stats/drift/lot_base.h"
#include "stats/drift/own_usual.h"

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
/// How a drift is found. OwnUsual: against the meter's own usual value; GroupTarget: by EWMA, CUSUM and the long rules on the group's
/// target.
enum class DriftMethod { OwnUsual, GroupTarget };
/// What the rules on single results are measured against.
enum class RuleReference { Usual, Target };
/// Marks of the chart that a ward lets raise a drift as well.
struct DriftMarks {
    std::vector<stats::Rule> rules;
    bool ewma = false;
};

/// What a lot or a vial that comes into use asks for (handbook 4.1, D2 to D4; meter/new_material.h).
/// Insert: the maker's insert decides, the registry reminds.
enum class NewStripLot { Control, Insert };
enum class NewStripVial { FirstMeter, EveryMeter, Insert };
enum class NewControlVial { NoControl, Beside };

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

/// What a document that says something gives where it leaves a setting out: what was so before there was that setting.
/// text     of a document of today; before   of one that lacks the key `unless`, or where there is none the setting itself
struct SettingText {
    std::string_view text, before, unless;
    constexpr SettingText(const char* only) : text(only), before(only) { }
    constexpr SettingText(std::string_view now, std::string_view then, std::string_view key = {}) : text(now), before(then), unless(key) { }
};

/// How long after its end a clearance may still be renewed in time: a part of it, or minutes. It never makes a meter usable.
struct OccasionTolerance {
    int part = 12; ///< "1/12"
    std::optional<int> minutes {};
};

/// The words of a setting that takes one of two, and of one that takes one of several: those of its enum, in its order; of yes and no, yes
/// first.
struct Either {
    std::string_view first, second;
};
template <std::size_t N>
struct OneOf {
    std::string_view words[N];
};
template <typename... W>
OneOf(W...) -> OneOf<sizeof...(W)>;

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
    DriftMethod driftMethod = DriftMethod::OwnUsual;
    RuleReference ruleReference = RuleReference::Usual;
    stats::DriftSettings drift;
    stats::UsualSettings usual; ///< its k and h are those of `drift`: see usualSettings()
    stats::BaseSettings base;
    DriftMarks driftRules;
    int apartDays = 14;        ///< a meter that stands apart is to be compared within so many days
    int toldControlHours = 24; ///< while a drift is told, a control clears no longer than this

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
    OccasionTolerance occasionTolerance;
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
    /// Does a long rule that fires raise a drift?
    bool raisesDrift(stats::Rule rule) const;
    /// Does the rule only mark the chart? It then changes no verdict.
    bool marksOnly(stats::Rule rule) const;
    stats::UsualSettings usualSettings() const;

    /// Every setting: its key, its default, where that comes from, who reads it, its member, and within what bounds or words its text
    /// lies. A new one is a member, a line here, and the code that reads the member; tests/journeys/settings_test.cpp holds two values
    /// of each against each other and fails where nothing answers differently. The order is that of a document in full.
    static void describe(auto& v, auto& p)
    {
        using Use = SettingUse;
        v("profile", "daily two levels", "our choice: a name for people", Use::Shown, p.profile);
        v("clearance", "elapsed", "42 CFR 493.1256(d)(3)(i): each day of testing", Use::Fitness, p.clearance,
            Either { "elapsed", "calendar" });
        v("clearance_hours", "24", "42 CFR 493.1256(d)(3)(i); as elapsed hours: our choice", Use::Fitness, p.clearanceHours, 1, 24 * 31);
        v("day_boundary", "00:00", "our choice: local midnight", Use::Fitness, p.dayBoundaryMinutes);
        v("shift_boundaries", "none",
            "our choice: where each shift controls anew, the times at which a shift begins; it takes the place of clearance", Use::Fitness,
            p.shiftBoundaryMinutes);
        v("grace_minutes", "0", "our choice: none, a control is due when it is due", Use::Fitness, p.graceMinutes, 0, 12 * 60);
        v("new_strip_lot", "control", "42 CFR 493.1256(d)(6); the maker's insert", Use::Fitness, p.newStripLot,
            OneOf { "control", "insert" });
        v("new_strip_vial", "first-meter", "our choice; many inserts ask for a control", Use::Fitness, p.newStripVial,
            OneOf { "first-meter", "every-meter", "insert" });
        v("new_control_vial", "no-control", "our choice; run it beside the old one where the ward asks for it", Use::Lots, p.newControlVial,
            OneOf { "no-control", "beside" });
        v("reserve_control", "1 m", "our choice", Use::Fitness, p.reserveControlInterval);
        v("required_levels", "low high", "42 CFR 493.1256(d)(3)(i): two concentrations", Use::Fitness, p.requiredLevels);
        v("set_window_minutes", "30", "our choice", Use::Verdict, p.setWindowMinutes, 1, 24 * 60);
        v("rules", "1-2s:warn,1-3s,2-2s,R-4s,4-1s:warn,10x:warn",
            "J Assist Reprod Genet 2014;31:25, table 1; which of them reject: our choice", Use::Verdict, p.rules);
        v("r4s_reading", "opposite", "J Assist Reprod Genet 2014;31:25, table 1; public sources read it in two ways", Use::Verdict,
            p.rangeReading, Either { "opposite", "range" });
        v("ewma_lambda", "0.2", "usual in statistical process control; Roberts, Technometrics 1959;1:239", Use::Verdict, p.drift.lambda,
            0.01, 1);
        v("ewma_width", "3", "usual in statistical process control; Roberts, Technometrics 1959;1:239", Use::Verdict, p.drift.width, 1, 10);
        v("cusum_k", SettingText { "1", "0.5", "drift_method" }, "Page, Biometrika 1954;41:100; how much: our choice", Use::Verdict,
            p.drift.k, 0, 5);
        v("cusum_h", "4", "our choice; Page, Biometrika 1954;41:100", Use::Verdict, p.drift.h, 1, 20);
        v("drift_method", SettingText { "own-usual", "group-target" },
            "our choice: each meter against its own usual value; self-starting: Hawkins and Olwell, Cumulative Sum Charts, 1998",
            Use::Verdict, p.driftMethod, Either { "own-usual", "group-target" });
        v("rule_reference", SettingText { "usual", "target" }, "our choice: meters of one kind stand apart from each other all their life",
            Use::Verdict, p.ruleReference, Either { "usual", "target" });
        v("drift_rules", "none", "our choice: marks of the chart that raise a drift as well", Use::Verdict, p.driftRules);
        v("usual_controls", "20", "our choice", Use::Verdict, p.usual.learned, 5, 100);
        v("usual_prior", "2", "our choice: meters usually differ by half an SD", Use::Verdict, p.usual.prior, 0.5, 20);
        v("newest_controls", "7", "our choice", Use::Verdict, p.usual.newest, 3, 30);
        v("apart_days", "14", "our choice", Use::Fitness, p.apartDays, 1, 366);
        v("told_control_hours", "24", "our choice: while a drift is told, control daily", Use::Fitness, p.toldControlHours, 1, 24 * 31);
        v("base_results", "20 60", "our choice: so many results make the base of a lot, and so many freeze it", Use::Verdict, p.base);
        v("base_meters", "3", "our choice", Use::Verdict, p.base.meters, 3, 100);
        v("comparison_interval", "6 m", "42 CFR 493.1281(a): twice a year", Use::Fitness, p.comparisonInterval);
        v("comparison_due_days", "30", "our choice", Use::Fitness, p.comparisonDueDays, 0, 366);
        v("pair_window_minutes", "15", "our choice, as many inserts have it", Use::Comparison, p.pairWindowMinutes, 1, 24 * 60);
        v("pair_target_minutes", "5", "our choice", Use::Comparison, p.pairTargetMinutes, 0, 24 * 60);
        v("separation_minutes", "30", "our choice; glycolysis: Bonetti, Biochem Med 2016;26:68", Use::Comparison, p.separationMinutes, 1,
            24 * 60);
        v("capillary_fasting", "required", "our choice, as many inserts have it: after a meal capillary blood reads higher",
            Use::Comparison, p.capillaryFasting, Either { "required", "optional" });
        v("limit_threshold", "75", "FDA guidance on meters for prescription point-of-care use, 2016; mg/dL", Use::Comparison,
            p.limitThreshold);
        v("limit_below", "12", "FDA guidance on meters for prescription point-of-care use, 2016; mg/dL", Use::Comparison, p.limitBelow);
        v("limit_threshold_mmol", "4.2", "FDA guidance on meters for prescription point-of-care use, 2016; mmol/L", Use::Comparison,
            p.limitThresholdMmol);
        v("limit_below_mmol", "0.67", "FDA guidance on meters for prescription point-of-care use, 2016; mmol/L", Use::Comparison,
            p.limitBelowMmol);
        v("limit_percent", "12", "FDA guidance on meters for prescription point-of-care use, 2016", Use::Comparison, p.limitPercent);
        v("comparison_criteria", "FPOC",
            "FDA guidance on meters for prescription point-of-care use, 2016; L12 is CLSI POCT12, ISO-15 is ISO 15197:2013, and both bring their own limits",
            Use::Comparison, p);
        v("calibration_interval", "none", "our choice: none; where it is asked for, 42 CFR 493.1255(b)(2)(ii): six months", Use::Fitness,
            p.calibrationInterval);
        v("eqa_failure", "withdraw", "our choice", Use::Consequence, p.eqaFailure, OneOf { "withdraw", "hold", "none" });
        v("drift_blocks", "half-limit", "our choice", Use::Fitness, p.driftBlocks, OneOf { "half-limit", "never", "always" });
        v("due_soon_hours", "8", "our choice: one shift", Use::Fitness, p.dueSoonHours, 0, 24 * 31);
        v("error_codes", "3", "our choice", Use::Fitness, p.errorCodes, 1, 100);
        v("error_code_hours", "24", "our choice", Use::Fitness, p.errorCodeHours, 1, 24 * 31);
        v("return_sets", "2", "our choice", Use::Consequence, p.returnSets, 1, 10);
        v("cleaning_interval", "none", "our choice: none; a record of soiling makes it due", Use::Fitness, p.cleaningInterval);
        v("lookback_after_repeat", "yes", "42 CFR 493.1282(b)(2): every failure to meet criteria", Use::Consequence, p.lookbackAfterRepeat);
        v("control_after_transfer", "yes", "our choice", Use::Fitness, p.controlAfterTransfer);
        v("competency_interval", "12 m", "42 CFR 493.1413(b)(9) and 493.1451(b)(9): yearly", Use::People, p.competencyInterval);
        v("competency_first_year", "6 m", "42 CFR 493.1413(b)(9) and 493.1451(b)(9): twice in the first year", Use::People,
            p.competencyFirstYear);
        v("due_soon_days", "30", "our choice; competency, calibration", Use::People, p.dueSoonDays, 0, 366);
        v("same_badge_minutes", "10", "our choice", Use::People, p.sameBadgeMinutes, 0, 24 * 60);
        v("confirm_after_hours", "24", "our choice", Use::Records, p.confirmAfterHours, 0, 24 * 31);
        v("past_entry_hours", "12", "our choice", Use::Records, p.pastEntryHours, 0, 24 * 31);
        v("late_entry_minutes", "15", "our choice", Use::Records, p.lateEntryMinutes, 0, 24 * 60);
        v("second_person", "yes", "our choice; for an amendment that changes a verdict", Use::Records, p.secondPerson);
        v("repeats_per_step", "1", "our choice; repeating until it passes is no accepted practice", Use::Consequence, p.repeatsPerStep, 1,
            5);
        v("review_due_day", "10", "our choice", Use::Month, p.reviewDueDay, 1, 28);
        v("occasion_tolerance", "1/12", "our choice: a twelfth of the clearance, 2 h of 24", Use::Month, p.occasionTolerance);
        v("auto_logoff_minutes", "5", "our choice; 45 CFR 164.312(a)(2)(iii) asks for it, not how soon", Use::SignIn, p.autoLogoffMinutes,
            1, 120);
        v("sign_in_tries", "5", "our choice; 45 CFR 164.308(a)(5)(ii)(C) asks to watch failed sign-ins, not how many", Use::SignIn,
            p.signInTries, 3, 20);
        v("sign_in_lock_minutes", "15", "our choice: long enough to stop guessing, short enough for a shift", Use::SignIn,
            p.signInLockMinutes, 1, 24 * 60);
        v("record_offline", "no", "our choice: while the server is away, a workstation may keep what was typed and deliver it later",
            Use::Keeping, p.recordOffline);
        v("backup_days", "1", "our choice: older than this, the newest checked copy is said to be overdue", Use::Keeping, p.backupDays, 1,
            366);
        v("retention_years", "2", "42 CFR 493.1105; never deletes by itself", Use::Keeping, p.retentionYears, 2, 100);
        v("sdi_caution", "1.5", "our choice: public sources give 1.0 to 1.5", Use::Month, p.sdiCaution, 0, 10);
        v("sdi_action", "2.0", "usual in peer comparison", Use::Month, p.sdiAction, 0, 10);
        v("group_meters", "5", "our choice", Use::Month, p.groupMeters, 2, 1000);
        v("group_results", "20", "our choice", Use::Month, p.groupResults, 2, 10000);
        v("release_meters", "3", "our choice", Use::Lots, p.releaseMeters, 1, 100);
        v("release_replicates", "2", "our choice", Use::Lots, p.releaseReplicates, 1, 100);
        v("release_samples", "5", "our choice; CLSI EP26 asks for patient samples, not how many", Use::Lots, p.releaseSamples, 0, 1000);
        v("stock_days", "30", "our choice", Use::Lots, p.stockDays, 0, 366);
        v("stock_vials", "2", "our choice: one in use, one behind it", Use::Lots, p.stockVials, 0, 1000);
    }
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
