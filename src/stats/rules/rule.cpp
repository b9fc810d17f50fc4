// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/rule.h"

#include <algorithm>
#include <array>
#include <utility>

namespace mk::stats {

namespace {

constexpr std::array kRuleNames = {
    std::pair { Rule::OneTwoS, std::string_view("1-2s") },
    std::pair { Rule::OneThreeS, std::string_view("1-3s") },
    std::pair { Rule::TwoTwoS, std::string_view("2-2s") },
    std::pair { Rule::RFourS, std::string_view("R-4s") },
    std::pair { Rule::FourOneS, std::string_view("4-1s") },
    std::pair { Rule::SixX, std::string_view("6x") },
    std::pair { Rule::EightX, std::string_view("8x") },
    std::pair { Rule::NineX, std::string_view("9x") },
    std::pair { Rule::TenX, std::string_view("10x") },
    std::pair { Rule::TwelveX, std::string_view("12x") },
    std::pair { Rule::ThreeOneS, std::string_view("3-1s") },
    std::pair { Rule::TwoOfThreeTwoS, std::string_view("2of3-2s") },
    std::pair { Rule::SevenT, std::string_view("7T") },
};

constexpr auto kRuleList = [] {
    std::array<Rule, kRuleNames.size()> rules {};
    for (std::size_t i = 0; i < rules.size(); ++i)
        rules[i] = kRuleNames[i].first;
    return rules;
}();

} // namespace

std::string_view name(Rule rule)
{
    return kRuleNames[static_cast<std::size_t>(rule)].second;
}

std::optional<Rule> ruleNamed(std::string_view name)
{
    const auto found = std::ranges::find(kRuleNames, name, [](const auto& entry) { return entry.second; });
    if (found == kRuleNames.end())
        return std::nullopt;
    return found->first;
}

std::span<const Rule> allRules()
{
    return kRuleList;
}

} // namespace mk::stats
