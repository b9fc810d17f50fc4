// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace mk::stats {

/// The published control rules that the program knows; source: handbook 6.2.
enum class Rule {
    OneTwoS,        ///< 1-2s: one result beyond 2 SD
    OneThreeS,      ///< 1-3s: one result beyond 3 SD
    TwoTwoS,        ///< 2-2s: two beyond the same 2 SD, of one level in a row or two levels of one complete set
    RFourS,         ///< R-4s: two results of one set far apart, see RangeReading
    FourOneS,       ///< 4-1s: four in a row beyond the same 1 SD
    SixX,           ///< 6x: six in a row on one side of the mean; 8x to 12x likewise
    EightX,         ///< 8x
    NineX,          ///< 9x
    TenX,           ///< 10x
    TwelveX,        ///< 12x
    ThreeOneS,      ///< 3-1s: three beyond the same 1 SD, of one level in a row or all three levels of one set
    TwoOfThreeTwoS, ///< 2of3-2s: a result and another of its level's last three, or two of a set's three levels, beyond the same 2 SD
    SevenT          ///< 7T: seven results of one level, each strictly above (or each below) the one before, six steps
};

/// The rule as it is written: "1-2s", "10x", "2of3-2s", "7T".
std::string_view name(Rule rule);
/// The rule written exactly so, or nothing.
std::optional<Rule> ruleNamed(std::string_view name);
/// Every rule, in the order of the enum.
std::span<const Rule> allRules();

/// Which of the rules fire on a result, one bit each.
using RuleMask = std::uint16_t;
constexpr RuleMask maskOf(Rule rule)
{
    return static_cast<RuleMask>(1U << static_cast<unsigned>(rule));
}

} // namespace mk::stats
