// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
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

/// What a rule counts. Rules that count alike differ in how many results they take and in how far out these lie.
enum class RuleCount {
    One,     ///< the newest result alone
    Run,     ///< results of a level in a row, all on one side
    OfThree, ///< the newest result and others of its level's last three, on its side
    Steps,   ///< results of a level in a row, each above (or each below) the one before
    Spread   ///< two results of one set far apart
};

/// How a rule reads the levels of a complete set together.
enum class RuleAcross {
    Never,
    InSet,        ///< results of one set
    InSetOfThree, ///< likewise, where a complete set has three levels
    WholeSets     ///< sets one after the other, every result on one side
};

/// What a rule that fires tells.
enum class RuleTells {
    BadSet, ///< of this set
    Shift,  ///< of what began before it
    Drift   ///< of a change that lasts
};

/// All that is known of one rule. A rule that counts like another is a value of the enum and a row.
/// name        as it is written: "1-2s", "10x", "2of3-2s", "7T"
/// results     how many the pattern takes
/// limitSd     beyond how many SD they lie; 0: on one side of the mean
/// atInterim   may it judge while the target is still an interim one?
struct RuleRow {
    Rule rule;
    std::string_view name;
    RuleCount count;
    int results;
    int limitSd;
    RuleAcross across;
    RuleTells tells;
    bool atInterim = false;
};

/// In the order of the enum.
inline constexpr RuleRow kRules[] = {
    { Rule::OneTwoS, "1-2s", RuleCount::One, 1, 2, RuleAcross::Never, RuleTells::BadSet },
    { Rule::OneThreeS, "1-3s", RuleCount::One, 1, 3, RuleAcross::Never, RuleTells::BadSet, true },
    { Rule::TwoTwoS, "2-2s", RuleCount::Run, 2, 2, RuleAcross::InSet, RuleTells::Shift },
    { Rule::RFourS, "R-4s", RuleCount::Spread, 2, 2, RuleAcross::InSet, RuleTells::BadSet, true },
    { Rule::FourOneS, "4-1s", RuleCount::Run, 4, 1, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::SixX, "6x", RuleCount::Run, 6, 0, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::EightX, "8x", RuleCount::Run, 8, 0, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::NineX, "9x", RuleCount::Run, 9, 0, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::TenX, "10x", RuleCount::Run, 10, 0, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::TwelveX, "12x", RuleCount::Run, 12, 0, RuleAcross::WholeSets, RuleTells::Drift },
    { Rule::ThreeOneS, "3-1s", RuleCount::Run, 3, 1, RuleAcross::InSetOfThree, RuleTells::Drift },
    { Rule::TwoOfThreeTwoS, "2of3-2s", RuleCount::OfThree, 2, 2, RuleAcross::InSetOfThree, RuleTells::Drift },
    { Rule::SevenT, "7T", RuleCount::Steps, 7, 0, RuleAcross::Never, RuleTells::Drift },
};

static_assert(std::size(kRules) == static_cast<std::size_t>(Rule::SevenT) + 1);

constexpr const RuleRow& rowOf(Rule rule)
{
    return kRules[static_cast<std::size_t>(rule)];
}
constexpr std::string_view name(Rule rule)
{
    return rowOf(rule).name;
}
/// The row of the rule written exactly so, or nothing.
const RuleRow* ruleRowNamed(std::string_view name);
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
