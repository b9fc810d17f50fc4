// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/rules/rule.h"

#include <algorithm>
#include <cstddef>
#include <cstdlib>
#include <iterator>
#include <utility>

/// What the control rules count over the results of one level: the one place where a pattern within a level is decided.
namespace mk::stats {

/// Which side of the mean, or beyond a limit, a score lies: 1 above, -1 below, 0 neither.
struct ScoreSides {
    int mean = 0;
    int oneSd = 0;
    int twoSd = 0;
    int threeSd = 0;
};

/// A run of results on one side: its length, negative below. side: as in ScoreSides
inline int nextRun(int run, int side)
{
    const int longer = std::max(side * run, 0) + 1;
    return side * longer;
}

/// The counts after the newest result of a level.
struct LevelCounts {
    int mean = 0;
    int oneSd = 0;
    int twoSd = 0;
    int steps = 0;                  ///< rising, or negative: falling
    int threeSd = 0;                ///< of the newest alone
    int before = 0, beforeThat = 0; ///< sides beyond 2 SD of the two results before the newest
    int newest = 0;                 ///< side beyond 2 SD of the newest

    /// step   1 when the result is strictly higher than the level's last one, -1 when lower, 0 when equal or the first
    void take(const ScoreSides& sides, int step)
    {
        mean = nextRun(mean, sides.mean);
        oneSd = nextRun(oneSd, sides.oneSd);
        twoSd = nextRun(twoSd, sides.twoSd);
        steps = nextRun(steps, step);
        threeSd = sides.threeSd;
        beforeThat = before;
        before = newest;
        newest = sides.twoSd;
    }

    /// The run on one side: beyond 1 or 2 SD, or, with limit 0, of the mean.
    static constexpr int LevelCounts::*runBeyond(int limitSd)
    {
        return limitSd == 0 ? &LevelCounts::mean : limitSd == 1 ? &LevelCounts::oneSd : &LevelCounts::twoSd;
    }

    /// Results in the pattern of a rule that reads one level and that the newest result completes or continues; 0 where there is none.
    std::size_t points(Rule rule) const { return points(rowOf(rule)); }

    /// Every rule for which `points` is above 0.
    RuleMask mask() const { return maskOfAll(std::make_index_sequence<std::size(kRules)>()); }

    static std::size_t patternOf(int run, int needed)
    {
        const int length = std::abs(run);
        return length >= needed ? static_cast<std::size_t>(length) : 0;
    }

private:
    /// Inline, so that over the rows of the table nothing is left to decide: millions of results pass here.
    [[gnu::always_inline]] std::size_t points(const RuleRow& row) const
    {
        switch (row.count) {
        case RuleCount::One: return (row.limitSd == 3 ? threeSd : newest) != 0 ? 1 : 0;
        case RuleCount::Run: return patternOf(this->*runBeyond(row.limitSd), row.results);
        // The newest result is one of the two: the set in which the pattern was complete has been flagged already.
        case RuleCount::OfThree: return newest == 0 ? 0 : patternOf(1 + (before == newest) + (beforeThat == newest), row.results);
        case RuleCount::Steps: return patternOf(steps, row.results - 1) > 0 ? patternOf(steps, row.results - 1) + 1 : 0;
        case RuleCount::Spread: return 0; // within one set only, never from set to set
        }
        return 0;
    }

    template <std::size_t... I>
    RuleMask maskOfAll(std::index_sequence<I...>) const
    {
        return static_cast<RuleMask>((... | (static_cast<unsigned>(points(kRules[I]) > 0) << I)));
    }
};

} // namespace mk::stats
