// SPDX-License-Identifier: GPL-3.0-or-later
// The settings walked: what they are called, and how each is read from its text.
#include "registry/policy/policy_table.h"
#include "registry/policy/setting_readers.h"

#include <algorithm>

namespace mk::registry {

namespace {

struct SettingLister {
    std::vector<SettingRow> rows;

    void operator()(std::string_view key, SettingText text, std::string_view source, SettingUse use, auto&, auto...)
    {
        rows.push_back({ key, text, source, use });
    }
};

struct SettingReader {
    std::string_view wanted;
    const std::string& text;
    base::Done read {};

    void operator()(std::string_view key, SettingText, std::string_view, SettingUse, auto& into, const auto&... how)
    {
        if (key == wanted)
            read = readSetting(text, into, how...);
    }
};

} // namespace

std::span<const SettingRow> settingTable()
{
    static const std::vector<SettingRow> rows = [] {
        Policy any;
        SettingLister lister;
        Policy::describe(lister, any);
        return lister.rows;
    }();
    return rows;
}

base::Done readInto(Policy& policy, std::string_view key, const std::string& text)
{
    SettingReader reader { key, text };
    Policy::describe(reader, policy);
    return reader.read;
}

RuleRole Policy::roleOf(stats::Rule rule) const
{
    const auto found = std::ranges::find(rules, rule, &RuleChoice::rule);
    return found == rules.end() ? RuleRole::Warn : found->role;
}

bool Policy::raisesDrift(stats::Rule rule) const
{
    return stats::rowOf(rule).tells == stats::RuleTells::Drift
        && (driftMethod == DriftMethod::GroupTarget || std::ranges::find(driftRules.rules, rule) != driftRules.rules.end());
}

bool Policy::marksOnly(stats::Rule rule) const
{
    return driftMethod == DriftMethod::OwnUsual && stats::rowOf(rule).tells == stats::RuleTells::Drift && !raisesDrift(rule)
        && roleOf(rule) == RuleRole::Warn;
}

stats::UsualSettings Policy::usualSettings() const
{
    stats::UsualSettings settings = usual;
    settings.k = drift.k;
    settings.h = drift.h;
    return settings;
}

} // namespace mk::registry
