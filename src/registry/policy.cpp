// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/policy.h"

#include <algorithm>
#include <charconv>
#include <functional>
#include <sstream>

namespace mk::registry {

namespace {

using base::Done;
using base::badInput;

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
    { "clearance", "elapsed", "handbook 13; 42 CFR 493.1256(d)(3)(i)",
        [](const std::string& t, P& p) { return readChoice(t, "elapsed", P::Clearance::Elapsed, "calendar", P::Clearance::Calendar, p.clearance); } },
    { "clearance_hours", "24", "handbook 4.1", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.clearanceHours); } },
    { "day_boundary", "00:00", "handbook 13", [](const std::string& t, P& p) { return readBoundary(t, p.dayBoundaryMinutes); } },
    { "required_levels", "low high", "handbook 4.1, D1", [](const std::string& t, P& p) { return readLevels(t, p.requiredLevels); } },
    { "set_window_minutes", "30", "handbook 4.3", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.setWindowMinutes); } },
    { "rules", "1-2s:warn,1-3s,2-2s,R-4s,4-1s:warn,10x:warn", "handbook 6.2 and 13", [](const std::string& t, P& p) { return readRules(t, p.rules); } },
    { "r4s_reading", "opposite", "handbook 6.2",
        [](const std::string& t, P& p) {
            return readChoice(t, "opposite", stats::RangeReading::Opposite, "range", stats::RangeReading::Difference, p.rangeReading);
        } },
    { "ewma_lambda", "0.2", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 0.01, 1, p.drift.lambda); } },
    { "ewma_width", "3", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 1, 10, p.drift.width); } },
    { "cusum_k", "0.5", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 0, 5, p.drift.k); } },
    { "cusum_h", "4", "handbook 6.2", [](const std::string& t, P& p) { return readDouble(t, 1, 20, p.drift.h); } },
    { "comparison_interval", "6 m", "handbook 5.1; 42 CFR 493.1281(a)", [](const std::string& t, P& p) { return readPeriod(t, p.comparisonInterval); } },
    { "comparison_due_days", "30", "handbook 13", [](const std::string& t, P& p) { return readInt(t, 0, 366, p.comparisonDueDays); } },
    { "pair_window_minutes", "15", "handbook 5.2", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 60, p.pairWindowMinutes); } },
    { "limit_threshold", "75", "handbook 5.4, FPOC-a; mg/dL", [](const std::string& t, P& p) { return readDecimal(t, p.limitThreshold); } },
    { "limit_below", "12", "handbook 5.4, FPOC-a; mg/dL", [](const std::string& t, P& p) { return readDecimal(t, p.limitBelow); } },
    { "limit_threshold_mmol", "4.2", "handbook 5.4; mmol/L", [](const std::string& t, P& p) { return readDecimal(t, p.limitThresholdMmol); } },
    { "limit_below_mmol", "0.67", "handbook 5.4; mmol/L", [](const std::string& t, P& p) { return readDecimal(t, p.limitBelowMmol); } },
    { "limit_percent", "12", "handbook 5.4, FPOC-a", [](const std::string& t, P& p) { return readDecimal(t, p.limitPercent); } },
    { "due_soon_hours", "8", "own choice: one shift", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.dueSoonHours); } },
    { "error_codes", "3", "handbook 1.5", [](const std::string& t, P& p) { return readInt(t, 1, 100, p.errorCodes); } },
    { "error_code_hours", "24", "handbook 1.5", [](const std::string& t, P& p) { return readInt(t, 1, 24 * 31, p.errorCodeHours); } },
    { "return_sets", "2", "handbook 1.4, T8", [](const std::string& t, P& p) { return readInt(t, 1, 10, p.returnSets); } },
    { "cleaning_interval", "none", "handbook 13",
        [](const std::string& t, P& p) -> Done {
            if (t == "none")
                return {};
            p.cleaningInterval.emplace();
            return readPeriod(t, *p.cleaningInterval);
        } },
    { "confirm_after_hours", "24", "handbook 8.4", [](const std::string& t, P& p) { return readInt(t, 0, 24 * 31, p.confirmAfterHours); } },
    { "sdi_caution", "1.5", "handbook 7.2", [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiCaution); } },
    { "sdi_action", "2.0", "handbook 7.2", [](const std::string& t, P& p) { return readDouble(t, 0, 10, p.sdiAction); } },
    { "group_meters", "5", "handbook 7.2", [](const std::string& t, P& p) { return readInt(t, 2, 1000, p.groupMeters); } },
    { "group_results", "20", "handbook 7.2", [](const std::string& t, P& p) { return readInt(t, 2, 10000, p.groupResults); } },
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

base::Result<Policy> policyFrom(std::span<const std::pair<std::string, std::string>> settings)
{
    for (const auto& [key, text] : settings) {
        if (std::ranges::find(kSettings, key, &SettingRule::key) == std::end(kSettings))
            return badInput("the policy has no setting '" + key + "'; take it out or mend its name");
        if (std::ranges::count(settings, key, &std::pair<std::string, std::string>::first) > 1)
            return badInput("the policy gives '" + key + "' twice; keep one");
    }
    Policy policy;
    for (const auto& setting : kSettings) {
        const auto given = std::ranges::find(settings, setting.key, &std::pair<std::string, std::string>::first);
        if (const Done read = setting.read(given == settings.end() ? std::string(setting.text) : given->second, policy); !read)
            return badInput("the policy's '" + std::string(setting.key) + "' " + read.error().text);
    }
    return policy;
}

Policy defaultPolicy()
{
    auto policy = policyFrom({});
    assert(policy);
    return std::move(policy).value();
}

} // namespace mk::registry
