// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/control_rules.h"

#include <algorithm>
#include <cassert>
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

/// Results in a row that the rule needs on one side of the mean; 0 when it is no such rule.
std::size_t ruleLengthOnOneSide(Rule rule)
{
    switch (rule) {
    case Rule::SixX: return 6;
    case Rule::EightX: return 8;
    case Rule::NineX: return 9;
    case Rule::TenX: return 10;
    case Rule::TwelveX: return 12;
    default: return 0;
    }
}

/// The count where the pattern is complete, 0 where it is not.
std::size_t rulePoints(std::size_t count, std::size_t needed)
{
    return count >= needed ? count : 0;
}

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

ControlSeries::ControlSeries(RuleSettings settings) : m_settings(std::move(settings))
{
    assert(m_settings.levels >= 1);
    restart();
}

void ControlSeries::restart()
{
    m_levels.assign(m_settings.levels, LevelCounts());
    m_across = AcrossCounts();
}

std::vector<FiredRule> ControlSeries::add(std::span<const LevelScore> set)
{
    assert(!set.empty());
    for (const LevelScore& result : set)
        countLevel(result);
    countAcross(set);

    std::vector<FiredRule> fired;
    for (const Rule rule : m_settings.rules) {
        for (const LevelScore& result : set) {
            if (const std::size_t points = pointsInLevel(rule, result); points > 0)
                fired.push_back({ rule, result.level, points });
        }
        if (const std::size_t points = pointsAcross(rule, set); points > 0)
            fired.push_back({ rule, std::nullopt, points });
    }
    return fired;
}

void ControlSeries::SideRun::take(int newSide)
{
    count = newSide == 0 ? 0 : (newSide == side ? count + 1 : 1);
    side = newSide;
}

int ControlSeries::sideBeyond(const ControlScore& score, int limitSd) const
{
    if (score.beyond(limitSd, 1, m_settings.onLimit))
        return 1;
    return score.beyond(limitSd, -1, m_settings.onLimit) ? -1 : 0;
}

void ControlSeries::countLevel(const LevelScore& result)
{
    if (result.level >= m_levels.size())
        m_levels.resize(result.level + 1);
    LevelCounts& counts = m_levels[result.level];
    const int twoSdSide = sideBeyond(result.score, 2);
    counts.mean.take(result.score.side());
    counts.oneSd.take(sideBeyond(result.score, 1));
    counts.twoSd.take(twoSdSide);
    counts.lastTwoSd = { twoSdSide, counts.lastTwoSd[0], counts.lastTwoSd[1] };
    if (counts.last) {
        const bool rose = ControlScore::higher(result.score, *counts.last);
        const bool fell = ControlScore::higher(*counts.last, result.score);
        counts.steps.take(rose ? 1 : (fell ? -1 : 0));
    }
    counts.last = result.score;
}

void ControlSeries::countAcross(std::span<const LevelScore> set)
{
    if (!isComplete(set)) {
        m_across = AcrossCounts();
        return;
    }
    for (const LevelScore& result : set) {
        m_across.mean.take(result.score.side());
        m_across.oneSd.take(sideBeyond(result.score, 1));
    }
}

std::size_t ControlSeries::pointsInLevel(Rule rule, const LevelScore& result) const
{
    const LevelCounts& counts = m_levels[result.level];
    switch (rule) {
    case Rule::OneTwoS: return counts.twoSd.count > 0 ? 1 : 0;
    case Rule::OneThreeS: return sideBeyond(result.score, 3) != 0 ? 1 : 0;
    case Rule::TwoTwoS: return rulePoints(counts.twoSd.count, 2);
    case Rule::RFourS: return 0; // within one set only, never from set to set
    case Rule::ThreeOneS: return rulePoints(counts.oneSd.count, 3);
    case Rule::FourOneS: return rulePoints(counts.oneSd.count, 4);
    case Rule::TwoOfThreeTwoS: {
        // The newest result is one of the two: the set in which the pattern was complete has been flagged already.
        const int side = counts.lastTwoSd[0];
        return side == 0 ? 0 : rulePoints(static_cast<std::size_t>(std::ranges::count(counts.lastTwoSd, side)), 2);
    }
    case Rule::SevenT: return counts.steps.count >= 6 ? counts.steps.count + 1 : 0;
    default: return rulePoints(counts.mean.count, ruleLengthOnOneSide(rule));
    }
}

std::size_t ControlSeries::pointsAcross(Rule rule, std::span<const LevelScore> set) const
{
    if (rule == Rule::RFourS)
        return pointsOfRange(set); // needs two results, not a complete set
    if (m_settings.levels < 2 || !isComplete(set))
        return 0;
    switch (rule) {
    case Rule::OneTwoS:
    case Rule::OneThreeS:
    case Rule::SevenT: return 0;
    case Rule::TwoTwoS: return pointsInSet(set, 2, 2);
    case Rule::ThreeOneS: return m_settings.levels == 3 ? pointsInSet(set, 1, 3) : 0;
    case Rule::TwoOfThreeTwoS: return m_settings.levels == 3 ? pointsInSet(set, 2, 2) : 0;
    case Rule::FourOneS: return rulePoints(m_across.oneSd.count, 4);
    default: return rulePoints(m_across.mean.count, ruleLengthOnOneSide(rule));
    }
}

std::size_t ControlSeries::pointsInSet(std::span<const LevelScore> set, int limitSd, std::size_t needed) const
{
    const auto countBeyond = [&](int side) {
        return static_cast<std::size_t>(
            std::ranges::count_if(set, [&](const LevelScore& result) { return result.score.beyond(limitSd, side, m_settings.onLimit); }));
    };
    return rulePoints(std::max(countBeyond(1), countBeyond(-1)), needed);
}

std::size_t ControlSeries::pointsOfRange(std::span<const LevelScore> set) const
{
    const auto [lowest, highest]
        = std::ranges::minmax_element(set, [](const LevelScore& a, const LevelScore& b) { return ControlScore::higher(b.score, a.score); });
    const bool fires = m_settings.rangeReading == RangeReading::Opposite
        ? sideBeyond(highest->score, 2) == 1 && sideBeyond(lowest->score, 2) == -1
        : ControlScore::differByMoreThan(highest->score, lowest->score, 4, m_settings.onLimit);
    return fires ? 2 : 0;
}

} // namespace mk::stats
