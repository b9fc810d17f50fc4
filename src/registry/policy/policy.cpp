// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/policy/policy.h"

#include <algorithm>
#include <cassert>
#include <charconv>
#include <functional>
#include <sstream>

namespace mk::registry {

namespace {

using base::badInput;
using base::Done;

Done readInt(const std::string& text, int least, int most, int& into)
{
    int value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || value < least || value > most)
        return badInput("takes a whole number from " + std::to_string(least) + " to " + std::to_string(most) + ", not '" + text + "'");
    into = value;
    return {};
}

Done readDouble(const std::string& text, double least, double most, double& into)
{
    const auto decimal = base::Decimal::parse(text);
    if (!decimal || decimal->toDouble() < least || decimal->toDouble() > most)
        return badInput("takes a number from " + std::to_string(least) + " to " + std::to_string(most) + ", not '" + text + "'");
    into = decimal->toDouble();
    return {};
}

Done readDecimal(const std::string& text, base::Decimal& into)
{
    auto decimal = base::Decimal::parse(text);
    if (!decimal || decimal->mantissa() <= 0)
        return badInput("takes a number above 0, not '" + text + "'");
    into = std::move(decimal).value();
    return {};
}

Done readPeriod(const std::string& text, base::Period& into)
{
    const auto period = base::parsePeriod(text);
    if (!period)
        return period.error();
    into = *period;
    return {};
}

std::vector<std::string> policyWords(const std::string& text, char separator)
{
    std::vector<std::string> words;
    std::istringstream in(text);
    for (std::string word; std::getline(in, word, separator);)
        if (!word.empty())
            words.push_back(word);
    return words;
}

Done readLevels(const std::string& text, std::vector<Level>& into)
{
    into.clear();
    for (const auto& word : policyWords(text, ' ')) {
        const auto level = valueOf<Level>(word);
        if (!level || std::ranges::find(into, *level) != into.end())
            return badInput("takes low, normal and high, each at most once, not '" + text + "'");
        into.push_back(*level);
    }
    std::ranges::sort(into);
    return into.empty() ? Done(badInput("needs at least one level")) : Done();
}

Done readRules(const std::string& text, std::vector<RuleChoice>& into)
{
    into.clear();
    if (text == "none")
        return {};
    for (const auto& word : policyWords(text, ',')) {
        const auto colon = word.find(':');
        const auto rule = stats::ruleNamed(word.substr(0, colon));
        const std::string role = colon == std::string::npos ? "reject" : word.substr(colon + 1);
        if (!rule || (role != "warn" && role != "reject"))
            return badInput("takes rules such as 1-2s:warn,1-3s,2-2s, not '" + word + "'");
        into.push_back({ *rule, role == "warn" ? RuleRole::Warn : RuleRole::Reject });
    }
    return {};
}

Done readBoundary(const std::string& text, int& into)
{
    const auto time = base::parseTimeText("2000-01-01T" + text);
    if (!time || time->hasOffset)
        return badInput("takes a time of day such as 07:00, not '" + text + "'");
    into = time->wall.millisecondOfDay / 60'000;
    return {};
}

Done readBoundaries(const std::string& text, std::vector<int>& into)
{
    into.clear();
    if (text == "none")
        return {};
    for (const auto& word : policyWords(text, ' ')) {
        int minutes = 0;
        if (const Done read = readBoundary(word, minutes); !read)
            return badInput("takes none, or times of day such as 07:00 15:00 23:00, not '" + text + "'");
        if (!into.empty() && minutes <= into.back())
            return badInput("takes times of day in their order, each once, not '" + text + "'");
        into.push_back(minutes);
    }
    return into.empty() ? Done(badInput("takes none, or times of day such as 07:00 15:00 23:00")) : Done();
}

Done readOptionalPeriod(const std::string& text, std::optional<base::Period>& into)
{
    into.reset();
    if (text == "none")
        return {};
    const auto period = base::parsePeriod(text);
    if (!period)
        return badInput("takes none or a period such as 6 m, not '" + text + "'");
    into = *period;
    return {};
}

Done readYesNo(const std::string& text, bool& into)
{
    if (text != "yes" && text != "no")
        return badInput("takes yes or no, not '" + text + "'");
    into = text == "yes";
    return {};
}

Done readWordOf(const std::string& text, std::initializer_list<std::string_view> words)
{
    if (std::ranges::find(words, text) != words.end())
        return {};
    std::string choices;
    for (const auto word : words)
        choices += (choices.empty() ? "" : ", ") + std::string(word);
    return badInput("takes one of " + choices + ", not '" + text + "'");
}

template <typename E>
Done readEnum(const std::string& text, std::initializer_list<std::string_view> words, E& into)
{
    if (const Done known = readWordOf(text, words); !known)
        return known;
    into = static_cast<E>(std::ranges::find(words, text) - words.begin());
    return {};
}

base::Decimal policyFigure(std::string_view text)
{
    return base::Decimal::parse(text).value();
}

/// The published sets of handbook 5.4. FPOC and local keep the limits that the document gives; a set by name brings its own.
Done readCriteria(const std::string& text, Policy& policy)
{
    const auto tier = [](const char* name, const char* threshold, const char* below, const char* thresholdMmol, const char* belowMmol,
                          const char* percent, const char* share) {
        return ComparisonTier { name, policyFigure(threshold), policyFigure(below), policyFigure(thresholdMmol), policyFigure(belowMmol),
            policyFigure(percent), policyFigure(share) };
    };
    policy.comparisonTiers.clear();
    if (text == "FPOC" || text == "local") {
        const ComparisonTier published = tier("FPOC-a", "75", "12", "4.2", "0.67", "12", "0.95");
        const bool own = policy.limitThreshold == published.threshold && policy.limitBelow == published.below
            && policy.limitPercent == published.percent && policy.limitThresholdMmol == published.thresholdMmol
            && policy.limitBelowMmol == published.belowMmol;
        const bool fpoc = text == "FPOC" && own; // with other limits the document's own speak alone
        policy.comparisonTiers.push_back({ fpoc ? published.name : "local", policy.limitThreshold, policy.limitBelow,
            policy.limitThresholdMmol, policy.limitBelowMmol, policy.limitPercent, published.share });
        if (fpoc)
            policy.comparisonTiers.push_back(tier("FPOC-b", "75", "15", "4.2", "0.83", "15", "0.98"));
        return {};
    }
    if (text == "ISO-15")
        policy.comparisonTiers = { tier("ISO-15", "100", "15", "5.55", "0.83", "15", "0.95") };
    else if (text == "L12")
        policy.comparisonTiers = { tier("L12-a", "100", "12", "5.55", "0.67", "12.5", "0.95"),
            tier("L12-b", "75", "15", "4.2", "0.83", "20", "0.98") };
    else
        return badInput("takes one of FPOC, L12, ISO-15, local, not '" + text + "'");
    const ComparisonTier& first = policy.comparisonTiers.front();
    policy.limitThreshold = first.threshold, policy.limitBelow = first.below, policy.limitPercent = first.percent;
    policy.limitThresholdMmol = first.thresholdMmol, policy.limitBelowMmol = first.belowMmol;
    return {};
}

template <typename T>
Done readChoice(const std::string& text, std::string_view first, T a, std::string_view second, T b, T& into)
{
    if (text != first && text != second)
        return badInput("takes " + std::string(first) + " or " + std::string(second) + ", not '" + text + "'");
    into = text == first ? a : b;
    return {};
}

struct SettingRule {
    std::string_view key, text, source;
    Done (*read)(const std::string&, Policy&);
};

using P = Policy;
const SettingRule kSettings[] = {
    { "profile", "daily two levels", "handbook 0.4; a name for people",
        [](const std::string& t, P& p) -> Done {
            p.profile = t;
            return t.empty() ? Done(badInput("needs a name")) : Done();
        } },
    { "clearance", "elapsed", "handbook 13; 42 CFR 493.1256(d)(3)(i)",
        [](const std::string& t, P& p) {
            return readChoice(t, "elapsed", P::Clearance::Elapsed, "calendar", P::Clearance::Calendar, p.clearance);
        } },
    { "clearance_hours", "24", "handbook 4.1", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.clearanceHours); } },
    { "day_boundary", "00:00", "handbook 13", [](const std::string& t, P& p) { return readBoundary(t, p.dayBoundaryMinutes); } },
    { "shift_boundaries", "none",
        "own choice: where each shift controls anew, the times at which a shift begins; it takes the place of clearance",
        [](const std::string& t, P& p) { return readBoundaries(t, p.shiftBoundaryMinutes); } },
    { "grace_minutes", "0", "own choice: none, a control is due when it is due",
        [](const std::string& t, P& p) { return readInt(t, 0, 12 * 60, p.graceMinutes); } },
    { "new_strip_lot", "control", "handbook 4.1, D2; 42 CFR 493.1256(d)(6)",
        [](const std::string& t, P&) {
            return readWordOf(t, { "control", "insert" });
        } },
    { "new_strip_vial", "first-meter", "handbook 4.1, D3",
        [](const std::string& t, P&) {
            return readWordOf(t, { "first-meter", "every-meter", "insert" });
        } },
    { "new_control_vial", "no-control", "handbook 4.1, D4; run it beside the old one where the ward asks for it",
        [](const std::string& t, P&) {
            return readWordOf(t, { "no-control", "beside" });
        } },
    { "reserve_control", "1 m", "handbook 4.1, D12",
        [](const std::string& t, P& p) { return readOptionalPeriod(t, p.reserveControlInterval); } },
    { "required_levels", "low high", "handbook 4.1, D1", [](const std::string& t, P& p) { return readLevels(t, p.requiredLevels); } },
    { "set_window_minutes", "30", "handbook 4.3", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.setWindowMinutes); } },
    { "rules", "1-2s:warn,1-3s,2-2s,R-4s,4-1s:warn,10x:warn", "handbook 6.2 and 13",
        [](const std::string& t, P& p) { return readRules(t, p.rules); } },
    { "r4s_reading", "opposite", "handbook 6.2",
        [](const std::string& t, P& p) {
            return readChoice(t, "opposite", stats::RangeReading::Opposite, "range", stats::RangeReading::Difference, p.rangeReading);
        } },
    { "ewma_lambda", "0.2", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 0.01, 1, p.drift.lambda); } },
    { "ewma_width", "3", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 1, 10, p.drift.width); } },
    { "cusum_k", "0.5", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 0, 5, p.drift.k); } },
    { "cusum_h", "4", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 1, 20, p.drift.h); } },
    { "comparison_interval", "6 m", "handbook 5.1; 42 CFR 493.1281(a)",
        [](const std::string& t, P& p) { return readPeriod(t, p.comparisonInterval); } },
    { "comparison_due_days", "30", "handbook 13", [](const std::string& t, P& p) { return readInt(t, 0, 366, p.comparisonDueDays); } },
    { "pair_window_minutes", "15", "handbook 5.2", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.pairWindowMinutes); } },
    { "pair_target_minutes", "5", "handbook 5.2", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.pairTargetMinutes); } },
    { "separation_minutes", "30", "handbook 5.2", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.separationMinutes); } },
    { "capillary_fasting", "required", "handbook 5.2",
        [](const std::string& t, P& p) { return readChoice(t, "required", true, "optional", false, p.capillaryFasting); } },
    { "limit_threshold", "75", "handbook 5.4, FPOC-a; mg/dL", [](const std::string& t, P& p) { return readDecimal(t, p.limitThreshold); } },
    { "limit_below", "12", "handbook 5.4, FPOC-a; mg/dL", [](const std::string& t, P& p) { return readDecimal(t, p.limitBelow); } },
    { "limit_threshold_mmol", "4.2", "handbook 5.4; mmol/L",
        [](const std::string& t, P& p) { return readDecimal(t, p.limitThresholdMmol); } },
    { "limit_below_mmol", "0.67", "handbook 5.4; mmol/L", [](const std::string& t, P& p) { return readDecimal(t, p.limitBelowMmol); } },
    { "limit_percent", "12", "handbook 5.4, FPOC-a", [](const std::string& t, P& p) { return readDecimal(t, p.limitPercent); } },
    { "comparison_criteria", "FPOC", "handbook 5.4 and 13; L12 and ISO-15 bring their own limits", readCriteria },
    { "calibration_interval", "none", "handbook 4.1, D13, and 13; 42 CFR 493.1255(b)(2)(ii)",
        [](const std::string& t, P& p) { return readOptionalPeriod(t, p.calibrationInterval); } },
    { "eqa_failure", "withdraw", "handbook 8.9; own choice of what follows",
        [](const std::string& t, P& p) {
            return readEnum(t, { "withdraw", "hold", "none" }, p.eqaFailure);
        } },
    { "drift_blocks", "half-limit", "handbook 13",
        [](const std::string& t, P& p) {
            return readEnum(t, { "half-limit", "never", "always" }, p.driftBlocks);
        } },
    { "due_soon_hours", "8", "own choice: one shift", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.dueSoonHours); } },
    { "error_codes", "3", "handbook 1.5", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.errorCodes); } },
    { "error_code_hours", "24", "handbook 1.5", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.errorCodeHours); } },
    { "return_sets", "2", "handbook 1.4, T8", [](const std::string& t, P& p) { return readInt(t, 1, 10, p.returnSets); } },
    { "cleaning_interval", "none", "handbook 13", [](const std::string& t, P& p) { return readOptionalPeriod(t, p.cleaningInterval); } },
    { "lookback_after_repeat", "yes", "handbook 4.6; 42 CFR 493.1282(b)(2)",
        [](const std::string& t, P& p) { return readChoice(t, "yes", true, "no", false, p.lookbackAfterRepeat); } },
    { "control_after_transfer", "yes", "handbook 1.4, T12",
        [](const std::string& t, P& p) { return readChoice(t, "yes", true, "no", false, p.controlAfterTransfer); } },
    { "competency_interval", "12 m", "handbook 13; 42 CFR 493.1451(b)(9)",
        [](const std::string& t, P& p) { return readPeriod(t, p.competencyInterval); } },
    { "competency_first_year", "6 m", "handbook 13; twice in the first year",
        [](const std::string& t, P& p) { return readPeriod(t, p.competencyFirstYear); } },
    { "due_soon_days", "30", "handbook 3 and 13; competency, calibration",
        [](const std::string& t, P& p) { return readInt(t, 0, 366, p.dueSoonDays); } },
    { "same_badge_minutes", "10", "own choice", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.sameBadgeMinutes); } },
    { "confirm_after_hours", "24", "handbook 8.4", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.confirmAfterHours); } },
    { "past_entry_hours", "12", "handbook 10.3", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.pastEntryHours); } },
    { "late_entry_minutes", "15", "handbook 7.2", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 60, p.lateEntryMinutes); } },
    { "second_person", "yes", "handbook 8.4 and 13; for an amendment that changes a verdict",
        [](const std::string& t, P& p) { return readYesNo(t, p.secondPerson); } },
    { "repeats_per_step", "1", "handbook 4.6", [](const std::string& t, P& p) { return readInt(t, 1, 5, p.repeatsPerStep); } },
    { "review_due_day", "10", "handbook 13", [](const std::string& t, P& p) { return readInt(t, 1, 28, p.reviewDueDay); } },
    { "auto_logoff_minutes", "5", "handbook 13", [](const std::string& t, P& p) { return readInt(t, 1, 120, p.autoLogoffMinutes); } },
    { "sign_in_tries", "5", "own choice; 45 CFR 164.308(a)(5)(ii)(C) asks to watch failed sign-ins, not how many",
        [](const std::string& t, P& p) { return readInt(t, 3, 20, p.signInTries); } },
    { "sign_in_lock_minutes", "15", "own choice: long enough to stop guessing, short enough for a shift",
        [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.signInLockMinutes); } },
    { "record_offline", "no", "own choice: while the server is away, a workstation may keep what was typed and deliver it later",
        [](const std::string& t, P& p) { return readYesNo(t, p.recordOffline); } },
    { "backup_days", "1", "own choice: older than this, the newest checked copy is said to be overdue",
        [](const std::string& t, P& p) { return readInt(t, 1, 366, p.backupDays); } },
    { "retention_years", "2", "handbook 8.7; 42 CFR 493.1105; never deletes by itself",
        [](const std::string& t, P& p) { return readInt(t, 2, 100, p.retentionYears); } },
    { "sdi_caution", "1.5", "handbook 7.2", [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiCaution); } },
    { "sdi_action", "2.0", "handbook 7.2", [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiAction); } },
    { "group_meters", "5", "handbook 7.2", [](const std::string& t, P& p) { return readInt(t, 2, 1000, p.groupMeters); } },
    { "group_results", "20", "handbook 7.2", [](const std::string& t, P& p) { return readInt(t, 2, 10000, p.groupResults); } },
    { "release_meters", "3", "handbook 2.3", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.releaseMeters); } },
    { "release_replicates", "2", "handbook 2.3", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.releaseReplicates); } },
    { "release_samples", "5", "handbook 2.3; CLSI EP26", [](const std::string& t, P& p) { return readInt(t, 0, 1000, p.releaseSamples); } },
    { "stock_days", "30", "handbook 13", [](const std::string& t, P& p) { return readInt(t, 0, 366, p.stockDays); } },
    { "stock_vials", "2", "own choice: one in use, one behind it",
        [](const std::string& t, P& p) { return readInt(t, 0, 1000, p.stockVials); } },
};

} // namespace

RuleRole Policy::roleOf(stats::Rule rule) const
{
    const auto found = std::ranges::find(rules, rule, &RuleChoice::rule);
    return found == rules.end() ? RuleRole::Warn : found->role;
}

std::vector<PolicySetting> defaultPolicySettings()
{
    std::vector<PolicySetting> all;
    for (const auto& setting : kSettings)
        all.push_back({ std::string(setting.key), std::string(setting.text), std::string(setting.source) });
    return all;
}

PolicyPairs completePolicy(std::span<const std::pair<std::string, std::string>> settings)
{
    PolicyPairs all;
    for (const auto& setting : kSettings) {
        const auto given = std::ranges::find(settings, setting.key, &std::pair<std::string, std::string>::first);
        all.emplace_back(setting.key, given == settings.end() ? std::string(setting.text) : given->second);
    }
    return all;
}

std::vector<PolicyFault> policyFaults(std::span<const std::pair<std::string, std::string>> settings)
{
    std::vector<PolicyFault> faults;
    Policy policy;
    for (std::size_t i = 0; i < settings.size(); ++i) {
        const auto& [key, text] = settings[i];
        const auto known = std::ranges::find(kSettings, key, &SettingRule::key);
        if (known == std::end(kSettings)) {
            faults.push_back({ i, "the policy has no setting '" + key + "'; take it out or mend its name" });
            continue;
        }
        if (std::ranges::find(settings.first(i), key, &std::pair<std::string, std::string>::first) != settings.first(i).end())
            faults.push_back({ i, "the policy gives '" + key + "' twice; keep one" });
        else if (const Done read = known->read(text, policy); !read)
            faults.push_back({ i, "the policy's '" + key + "' " + read.error().text });
    }
    return faults;
}

base::Result<Policy> policyFrom(std::span<const std::pair<std::string, std::string>> settings)
{
    if (const auto faults = policyFaults(settings); !faults.empty())
        return badInput(faults.front().text);
    Policy policy;
    const PolicyPairs all = completePolicy(settings);
    for (std::size_t i = 0; i < all.size(); ++i)
        if (const Done read = kSettings[i].read(all[i].second, policy); !read)
            return badInput("the policy's '" + all[i].first + "' " + read.error().text);
    return policy;
}

Policy defaultPolicy()
{
    auto policy = policyFrom({});
    assert(policy);
    return std::move(policy).value();
}

} // namespace mk::registry
