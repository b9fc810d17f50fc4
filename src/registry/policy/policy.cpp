// SPDX-License-Identifier: GPL-3.0-or-later
// The table of settings: the one place that knows their keys, defaults, sources, how each is read from its text and who reads it.
#include "registry/policy/policy_table.h"
#include "registry/policy/setting_readers.h"

#include <algorithm>

namespace mk::registry {

namespace {

using base::badInput;
using base::Done;
using P = Policy;
constexpr SettingRow kSettings[] = {
    { "profile", "daily two levels", "our choice: a name for people",
        [](const std::string& t, P& p) -> Done {
            p.profile = t;
            return t.empty() ? Done(badInput("needs a name")) : Done();
        },
        SettingUse::Shown },
    { "clearance", "elapsed", "42 CFR 493.1256(d)(3)(i): each day of testing",
        [](const std::string& t, P& p) {
            return readChoice(t, "elapsed", P::Clearance::Elapsed, "calendar", P::Clearance::Calendar, p.clearance);
        },
        SettingUse::Fitness },
    { "clearance_hours", "24", "42 CFR 493.1256(d)(3)(i); as elapsed hours: our choice",
        [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.clearanceHours); }, SettingUse::Fitness },
    { "day_boundary", "00:00", "our choice: local midnight",
        [](const std::string& t, P& p) { return readBoundary(t, p.dayBoundaryMinutes); }, SettingUse::Fitness },
    { "shift_boundaries", "none",
        "our choice: where each shift controls anew, the times at which a shift begins; it takes the place of clearance",
        [](const std::string& t, P& p) { return readBoundaries(t, p.shiftBoundaryMinutes); }, SettingUse::Fitness },
    { "grace_minutes", "0", "our choice: none, a control is due when it is due",
        [](const std::string& t, P& p) { return readInt(t, 0, 12 * 60, p.graceMinutes); }, SettingUse::Fitness },
    { "new_strip_lot", "control", "42 CFR 493.1256(d)(6); the maker's insert",
        [](const std::string& t, P& p) {
            return readEnum(t, { "control", "insert" }, p.newStripLot);
        },
        SettingUse::Fitness },
    { "new_strip_vial", "first-meter", "our choice; many inserts ask for a control",
        [](const std::string& t, P& p) {
            return readEnum(t, { "first-meter", "every-meter", "insert" }, p.newStripVial);
        },
        SettingUse::Fitness },
    { "new_control_vial", "no-control", "our choice; run it beside the old one where the ward asks for it",
        [](const std::string& t, P& p) {
            return readEnum(t, { "no-control", "beside" }, p.newControlVial);
        },
        SettingUse::Lots },
    { "reserve_control", "1 m", "our choice", [](const std::string& t, P& p) { return readOptionalPeriod(t, p.reserveControlInterval); },
        SettingUse::Fitness },
    { "required_levels", "low high", "42 CFR 493.1256(d)(3)(i): two concentrations",
        [](const std::string& t, P& p) { return readLevels(t, p.requiredLevels); }, SettingUse::Fitness },
    { "set_window_minutes", "30", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.setWindowMinutes); },
        SettingUse::Verdict },
    { "rules", "1-2s:warn,1-3s,2-2s,R-4s,4-1s:warn,10x:warn", "J Assist Reprod Genet 2014;31:25, table 1; which of them reject: our choice",
        [](const std::string& t, P& p) { return readRules(t, p.rules); }, SettingUse::Verdict },
    { "r4s_reading", "opposite", "J Assist Reprod Genet 2014;31:25, table 1; public sources read it in two ways",
        [](const std::string& t, P& p) {
            return readChoice(t, "opposite", stats::RangeReading::Opposite, "range", stats::RangeReading::Difference, p.rangeReading);
        },
        SettingUse::Verdict },
    { "ewma_lambda", "0.2", "usual in statistical process control; Roberts, Technometrics 1959;1:239",
        [](const std::string& t, P& p) { return readDouble(t, 0.01, 1, p.drift.lambda); }, SettingUse::Verdict },
    { "ewma_width", "3", "usual in statistical process control; Roberts, Technometrics 1959;1:239",
        [](const std::string& t, P& p) { return readDouble(t, 1, 10, p.drift.width); }, SettingUse::Verdict },
    { "cusum_k", "0.5", "half of a shift of 1 SD; Page, Biometrika 1954;41:100",
        [](const std::string& t, P& p) { return readDouble(t, 0, 5, p.drift.k); }, SettingUse::Verdict },
    { "cusum_h", "4", "our choice; Page, Biometrika 1954;41:100",
        [](const std::string& t, P& p) { return readDouble(t, 1, 20, p.drift.h); }, SettingUse::Verdict },
    { "comparison_interval", "6 m", "42 CFR 493.1281(a): twice a year",
        [](const std::string& t, P& p) { return readPeriod(t, p.comparisonInterval); }, SettingUse::Fitness },
    { "comparison_due_days", "30", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 366, p.comparisonDueDays); },
        SettingUse::Fitness },
    { "pair_window_minutes", "15", "our choice, as many inserts have it",
        [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.pairWindowMinutes); }, SettingUse::Comparison },
    { "pair_target_minutes", "5", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.pairTargetMinutes); },
        SettingUse::Comparison },
    { "separation_minutes", "30", "our choice; glycolysis: Bonetti, Biochem Med 2016;26:68",
        [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.separationMinutes); }, SettingUse::Comparison },
    { "capillary_fasting", "required", "our choice, as many inserts have it: after a meal capillary blood reads higher",
        [](const std::string& t, P& p) { return readChoice(t, "required", true, "optional", false, p.capillaryFasting); },
        SettingUse::Comparison },
    { "limit_threshold", "75", "FDA guidance on meters for prescription point-of-care use, 2016; mg/dL",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitThreshold); }, SettingUse::Comparison },
    { "limit_below", "12", "FDA guidance on meters for prescription point-of-care use, 2016; mg/dL",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitBelow); }, SettingUse::Comparison },
    { "limit_threshold_mmol", "4.2", "FDA guidance on meters for prescription point-of-care use, 2016; mmol/L",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitThresholdMmol); }, SettingUse::Comparison },
    { "limit_below_mmol", "0.67", "FDA guidance on meters for prescription point-of-care use, 2016; mmol/L",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitBelowMmol); }, SettingUse::Comparison },
    { "limit_percent", "12", "FDA guidance on meters for prescription point-of-care use, 2016",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitPercent); }, SettingUse::Comparison },
    { "comparison_criteria", "FPOC",
        "FDA guidance on meters for prescription point-of-care use, 2016; L12 is CLSI POCT12, ISO-15 is ISO 15197:2013, and both bring their own limits",
        readCriteria, SettingUse::Comparison },
    { "calibration_interval", "none", "our choice: none; where it is asked for, 42 CFR 493.1255(b)(2)(ii): six months",
        [](const std::string& t, P& p) { return readOptionalPeriod(t, p.calibrationInterval); }, SettingUse::Fitness },
    { "eqa_failure", "withdraw", "our choice",
        [](const std::string& t, P& p) {
            return readEnum(t, { "withdraw", "hold", "none" }, p.eqaFailure);
        },
        SettingUse::Consequence },
    { "drift_blocks", "half-limit", "our choice",
        [](const std::string& t, P& p) {
            return readEnum(t, { "half-limit", "never", "always" }, p.driftBlocks);
        },
        SettingUse::Fitness },
    { "due_soon_hours", "8", "our choice: one shift", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.dueSoonHours); },
        SettingUse::Fitness },
    { "error_codes", "3", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.errorCodes); }, SettingUse::Fitness },
    { "error_code_hours", "24", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.errorCodeHours); },
        SettingUse::Fitness },
    { "return_sets", "2", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 10, p.returnSets); },
        SettingUse::Consequence },
    { "cleaning_interval", "none", "our choice: none; a record of soiling makes it due",
        [](const std::string& t, P& p) { return readOptionalPeriod(t, p.cleaningInterval); }, SettingUse::Fitness },
    { "lookback_after_repeat", "yes", "42 CFR 493.1282(b)(2): every failure to meet criteria",
        [](const std::string& t, P& p) { return readChoice(t, "yes", true, "no", false, p.lookbackAfterRepeat); },
        SettingUse::Consequence },
    { "control_after_transfer", "yes", "our choice",
        [](const std::string& t, P& p) { return readChoice(t, "yes", true, "no", false, p.controlAfterTransfer); }, SettingUse::Fitness },
    { "competency_interval", "12 m", "42 CFR 493.1413(b)(9) and 493.1451(b)(9): yearly",
        [](const std::string& t, P& p) { return readPeriod(t, p.competencyInterval); }, SettingUse::People },
    { "competency_first_year", "6 m", "42 CFR 493.1413(b)(9) and 493.1451(b)(9): twice in the first year",
        [](const std::string& t, P& p) { return readPeriod(t, p.competencyFirstYear); }, SettingUse::People },
    { "due_soon_days", "30", "our choice; competency, calibration",
        [](const std::string& t, P& p) { return readInt(t, 0, 366, p.dueSoonDays); }, SettingUse::People },
    { "same_badge_minutes", "10", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.sameBadgeMinutes); },
        SettingUse::People },
    { "confirm_after_hours", "24", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.confirmAfterHours); },
        SettingUse::Records },
    { "past_entry_hours", "12", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.pastEntryHours); },
        SettingUse::Records },
    { "late_entry_minutes", "15", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.lateEntryMinutes); },
        SettingUse::Records },
    { "second_person", "yes", "our choice; for an amendment that changes a verdict",
        [](const std::string& t, P& p) { return readYesNo(t, p.secondPerson); }, SettingUse::Records },
    { "repeats_per_step", "1", "our choice; repeating until it passes is no accepted practice",
        [](const std::string& t, P& p) { return readInt(t, 1, 5, p.repeatsPerStep); }, SettingUse::Consequence },
    { "review_due_day", "10", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 28, p.reviewDueDay); },
        SettingUse::Month },
    { "auto_logoff_minutes", "5", "our choice; 45 CFR 164.312(a)(2)(iii) asks for it, not how soon",
        [](const std::string& t, P& p) { return readInt(t, 1, 120, p.autoLogoffMinutes); }, SettingUse::SignIn },
    { "sign_in_tries", "5", "our choice; 45 CFR 164.308(a)(5)(ii)(C) asks to watch failed sign-ins, not how many",
        [](const std::string& t, P& p) { return readInt(t, 3, 20, p.signInTries); }, SettingUse::SignIn },
    { "sign_in_lock_minutes", "15", "our choice: long enough to stop guessing, short enough for a shift",
        [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.signInLockMinutes); }, SettingUse::SignIn },
    { "record_offline", "no", "our choice: while the server is away, a workstation may keep what was typed and deliver it later",
        [](const std::string& t, P& p) { return readYesNo(t, p.recordOffline); }, SettingUse::Keeping },
    { "backup_days", "1", "our choice: older than this, the newest checked copy is said to be overdue",
        [](const std::string& t, P& p) { return readInt(t, 1, 366, p.backupDays); }, SettingUse::Keeping },
    { "retention_years", "2", "42 CFR 493.1105; never deletes by itself",
        [](const std::string& t, P& p) { return readInt(t, 2, 100, p.retentionYears); }, SettingUse::Keeping },
    { "sdi_caution", "1.5", "our choice: public sources give 1.0 to 1.5",
        [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiCaution); }, SettingUse::Month },
    { "sdi_action", "2.0", "usual in peer comparison", [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiAction); },
        SettingUse::Month },
    { "group_meters", "5", "our choice", [](const std::string& t, P& p) { return readInt(t, 2, 1000, p.groupMeters); }, SettingUse::Month },
    { "group_results", "20", "our choice", [](const std::string& t, P& p) { return readInt(t, 2, 10000, p.groupResults); },
        SettingUse::Month },
    { "release_meters", "3", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.releaseMeters); },
        SettingUse::Lots },
    { "release_replicates", "2", "our choice", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.releaseReplicates); },
        SettingUse::Lots },
    { "release_samples", "5", "our choice; CLSI EP26 asks for patient samples, not how many",
        [](const std::string& t, P& p) { return readInt(t, 0, 1000, p.releaseSamples); }, SettingUse::Lots },
    { "stock_days", "30", "our choice", [](const std::string& t, P& p) { return readInt(t, 0, 366, p.stockDays); }, SettingUse::Lots },
    { "stock_vials", "2", "our choice: one in use, one behind it",
        [](const std::string& t, P& p) { return readInt(t, 0, 1000, p.stockVials); }, SettingUse::Lots },

};

} // namespace

std::span<const SettingRow> settingTable()
{
    return kSettings;
}

RuleRole Policy::roleOf(stats::Rule rule) const
{
    const auto found = std::ranges::find(rules, rule, &RuleChoice::rule);
    return found == rules.end() ? RuleRole::Warn : found->role;
}

} // namespace mk::registry
