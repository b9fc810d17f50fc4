// SPDX-License-Identifier: GPL-3.0-or-later
// A policy as a document of keys and texts: what is wrong with it, what it leaves to the defaults, what it says that is not known here.
#include "registry/policy/policy_table.h"

#include <algorithm>
#include <cassert>
#include <numeric>

namespace mk::registry {

namespace {

using base::badInput;
using base::Done;
using Pair = std::pair<std::string, std::string>;

const SettingRow* settingCalled(std::string_view key)
{
    const auto table = settingTable();
    const auto found = std::ranges::find(table, key, &SettingRow::key);
    return found == table.end() ? nullptr : &*found;
}

/// How many letters must be put in, taken out or changed to make one of the other.
std::size_t lettersApart(std::string_view a, std::string_view b)
{
    std::vector<std::size_t> row(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t { 0 });
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t changed = diagonal + (a[i - 1] == b[j - 1] ? 0U : 1U);
            diagonal = row[j];
            row[j] = std::min({ row[j] + 1, row[j - 1] + 1, changed });
        }
    }
    return row.back();
}

/// A document that says nothing is the policy of today.
std::string_view leftOut(const SettingRow& setting, std::span<const Pair> settings)
{
    const std::string_view unless = setting.text.unless.empty() ? setting.key : setting.text.unless;
    const bool today = settings.empty() || std::ranges::find(settings, unless, &Pair::first) != settings.end();
    return today ? setting.text.text : setting.text.before;
}

constexpr std::size_t kLongestKey = 64; // a longer one is compared by its beginning: no key of ours is as long

/// Reads what it can of the document; a key that is not in the table is passed over.
base::Result<Policy> readKnown(const PolicyPairs& complete)
{
    Policy policy;
    for (const auto& [key, text] : complete)
        if (settingCalled(key) != nullptr)
            if (const Done read = readInto(policy, key, text); !read)
                return badInput("the policy's '%1' %2", key, read.error());
    return policy;
}

} // namespace

std::vector<PolicySetting> defaultPolicySettings()
{
    std::vector<PolicySetting> all;
    for (const auto& setting : settingTable())
        all.push_back({ std::string(setting.key), std::string(setting.text.text), std::string(setting.source), setting.use });
    return all;
}

std::string_view nearestSetting(std::string_view key)
{
    const auto apart = [key = key.substr(0, kLongestKey)](const SettingRow& row) { return lettersApart(key, row.key); };
    return std::ranges::min_element(settingTable(), {}, apart)->key;
}

PolicyPairs completePolicy(std::span<const Pair> settings)
{
    PolicyPairs all;
    for (const auto& setting : settingTable()) {
        const auto given = std::ranges::find(settings, setting.key, &Pair::first);
        all.emplace_back(setting.key, given == settings.end() ? std::string(leftOut(setting, settings)) : given->second);
    }
    return all;
}

PolicyPairs unknownSettings(std::span<const Pair> settings)
{
    PolicyPairs unknown;
    std::ranges::copy_if(settings, std::back_inserter(unknown), [](const Pair& each) { return settingCalled(each.first) == nullptr; });
    return unknown;
}

std::vector<PolicyFault> policyFaults(std::span<const Pair> settings)
{
    std::vector<PolicyFault> faults;
    Policy policy;
    for (std::size_t i = 0; i < settings.size(); ++i) {
        const auto& [key, text] = settings[i];
        if (settingCalled(key) == nullptr)
            faults.push_back({ badInput("the policy has no setting '%1'; the nearest is '%2'; mend its name or take it out", key,
                                   base::asCode(nearestSetting(key))),
                i });
        else if (std::ranges::find(settings.first(i), key, &Pair::first) != settings.first(i).end())
            faults.push_back({ badInput("the policy gives '%1' twice; keep one", key), i });
        else if (const Done read = readInto(policy, key, text); !read)
            faults.push_back({ badInput("the policy's '%1' %2", key, read.error()), i });
    }
    return faults;
}

base::Result<Policy> policyFrom(std::span<const Pair> settings)
{
    if (const auto faults = policyFaults(settings); !faults.empty())
        return base::Fault(faults.front());
    return readKnown(completePolicy(settings));
}

base::Result<Policy> policyOnRecord(std::span<const Pair> settings)
{
    return readKnown(completePolicy(settings));
}

Policy defaultPolicy()
{
    auto policy = policyFrom({});
    assert(policy);
    return std::move(policy).value();
}

} // namespace mk::registry
