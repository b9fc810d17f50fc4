// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_rules.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace mk::stats {

namespace {

/// The count where the pattern is complete, 0 where it is not.
std::size_t rulePoints(std::size_t count, std::size_t needed)
{
    return count >= needed ? count : 0;
}

} // namespace

ControlSeries::ControlSeries(RuleSettings settings) : m_settings(std::move(settings))
{
    assert(m_settings.levels >= 1);
    restart();
}

void ControlSeries::changeTo(RuleSettings settings)
{
    assert(settings.levels >= 1);
    m_settings = std::move(settings);
    if (m_levels.size() < m_settings.levels)
        m_levels.resize(m_settings.levels);
}

void ControlSeries::restart()
{
    m_levels.assign(m_settings.levels, LevelState());
    m_acrossMean = 0;
    m_acrossOneSd = 0;
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
            if (const std::size_t points = m_levels[result.level].counts.points(rule); points > 0)
                fired.push_back({ rule, result.level, points });
        }
        if (const std::size_t points = pointsAcross(rule, set); points > 0)
            fired.push_back({ rule, std::nullopt, points });
    }
    return fired;
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
    LevelState& level = m_levels[result.level];
    const int step = level.last ? ControlScore::higher(result.score, *level.last) - ControlScore::higher(*level.last, result.score) : 0;
    level.counts.take({ result.score.side(), sideBeyond(result.score, 1), sideBeyond(result.score, 2), sideBeyond(result.score, 3) }, step);
    level.last = result.score;
}

void ControlSeries::countAcross(std::span<const LevelScore> set)
{
    if (!isComplete(set)) {
        m_acrossMean = 0;
        m_acrossOneSd = 0;
        return;
    }
    m_acrossMean = nextRun(m_acrossMean, commonSide(set, 0));
    m_acrossOneSd = nextRun(m_acrossOneSd, commonSide(set, 1));
}

/// The side beyond the limit on which every result of the set lies; 0 when they do not agree. limitSd 0: the side of the mean
int ControlSeries::commonSide(std::span<const LevelScore> set, int limitSd) const
{
    const int side = sideBeyond(set.front().score, limitSd);
    return std::ranges::all_of(set, [&](const LevelScore& result) { return sideBeyond(result.score, limitSd) == side; }) ? side : 0;
}

std::size_t ControlSeries::pointsAcross(Rule rule, std::span<const LevelScore> set) const
{
    const RuleRow& row = rowOf(rule);
    if (row.count == RuleCount::Spread)
        return pointsOfRange(set); // needs two results, not a complete set
    if (m_settings.levels < 2 || !isComplete(set))
        return 0;
    const auto needed = static_cast<std::size_t>(row.results);
    switch (row.across) {
    case RuleAcross::Never: return 0;
    case RuleAcross::InSet: return pointsInSet(set, row.limitSd, needed);
    case RuleAcross::InSetOfThree: return m_settings.levels == 3 ? pointsInSet(set, row.limitSd, needed) : 0;
    case RuleAcross::WholeSets:
        return LevelCounts::patternOf((row.limitSd == 0 ? m_acrossMean : m_acrossOneSd) * static_cast<int>(set.size()), row.results);
    }
    return 0;
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
    const auto [lowest, highest] = std::ranges::minmax_element(
        set, [](const LevelScore& a, const LevelScore& b) { return ControlScore::higher(b.score, a.score); });
    const bool fires = m_settings.rangeReading == RangeReading::Opposite
        ? sideBeyond(highest->score, 2) == 1 && sideBeyond(lowest->score, 2) == -1
        : ControlScore::differByMoreThan(highest->score, lowest->score, 4, m_settings.onLimit);
    return fires ? 2 : 0;
}

void ruleMasks(std::span<const double> z, OnLimit onLimit, std::span<RuleMask> masks)
{
    assert(z.size() == masks.size());
    const auto sideOf = [onLimit](double score, double limit) {
        return onLimit == OnLimit::Out ? (score >= limit) - (score <= -limit) : (score > limit) - (score < -limit);
    };
    LevelCounts counts;
    for (std::size_t i = 0; i < z.size(); ++i) {
        const double before = i > 0 ? z[i - 1] : z[i];
        counts.take({ (z[i] > 0) - (z[i] < 0), sideOf(z[i], 1), sideOf(z[i], 2), sideOf(z[i], 3) }, (z[i] > before) - (z[i] < before));
        masks[i] = counts.mask();
    }
}

} // namespace mk::stats
