// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/rule.h"

#include <algorithm>
#include <array>
#include <iterator>

namespace mk::stats {

namespace {

constexpr auto kRuleList = [] {
    std::array<Rule, std::size(kRules)> rules {};
    for (std::size_t i = 0; i < rules.size(); ++i)
        rules[i] = kRules[i].rule;
    return rules;
}();

constexpr bool ruleRowsInOrder()
{
    for (std::size_t i = 0; i < std::size(kRules); ++i)
        if (static_cast<std::size_t>(kRules[i].rule) != i)
            return false;
    return true;
}
static_assert(ruleRowsInOrder());
static_assert(std::size(kRules) <= 8 * sizeof(RuleMask));

/// What the counts, the whole sets and the chain of the power computation can hold.
constexpr bool isCountable(const RuleRow& row)
{
    switch (row.count) {
    case RuleCount::One: return row.limitSd == 2 || row.limitSd == 3;
    case RuleCount::Run:
        return row.results < 16 && (row.limitSd < 2 || (row.limitSd == 2 && row.results == 2))
            && (row.across != RuleAcross::WholeSets || row.limitSd < 2);
    case RuleCount::OfThree: return row.limitSd == 2 && row.results == 2;
    case RuleCount::Spread: return row.limitSd == 2;
    case RuleCount::Steps: return row.across == RuleAcross::Never;
    }
    return false;
}
static_assert(std::ranges::all_of(kRules, isCountable));

} // namespace

const RuleRow* ruleRowNamed(std::string_view name)
{
    const auto* const found = std::ranges::find(kRules, name, &RuleRow::name);
    return found == std::end(kRules) ? nullptr : found;
}

std::optional<Rule> ruleNamed(std::string_view name)
{
    const RuleRow* const row = ruleRowNamed(name);
    return row == nullptr ? std::nullopt : std::optional(row->rule);
}

std::span<const Rule> allRules()
{
    return kRuleList;
}

} // namespace mk::stats
