// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/rules/rule.h"

#include <algorithm>
#include <cstddef>
#include <cstdlib>

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

    /// Results in the pattern of a rule that reads one level and that the newest result completes or continues; 0 where there is none.
    std::size_t points(Rule rule) const
    {
        switch (rule) {
        case Rule::OneTwoS: return newest != 0 ? 1 : 0;
        case Rule::OneThreeS: return threeSd != 0 ? 1 : 0;
        case Rule::TwoTwoS: return patternOf(twoSd, 2);
        case Rule::RFourS: return 0; // within one set only, never from set to set
        case Rule::FourOneS: return patternOf(oneSd, 4);
        case Rule::SixX: return patternOf(mean, 6);
        case Rule::EightX: return patternOf(mean, 8);
        case Rule::NineX: return patternOf(mean, 9);
        case Rule::TenX: return patternOf(mean, 10);
        case Rule::TwelveX: return patternOf(mean, 12);
        case Rule::ThreeOneS: return patternOf(oneSd, 3);
        // The newest result is one of the two: the set in which the pattern was complete has been flagged already.
        case Rule::TwoOfThreeTwoS: return newest == 0 ? 0 : patternOf(1 + (before == newest) + (beforeThat == newest), 2);
        case Rule::SevenT: return patternOf(steps, 6) > 0 ? patternOf(steps, 6) + 1 : 0;
        }
        return 0;
    }

    /// Every rule for which `points` is above 0.
    RuleMask mask() const
    {
        const int meanRun = std::abs(mean);
        const int oneSdRun = std::abs(oneSd);
        const auto bit = [](bool fires, Rule rule) { return static_cast<unsigned>(fires) << static_cast<unsigned>(rule); };
        return static_cast<RuleMask>(bit(newest != 0, Rule::OneTwoS) | bit(threeSd != 0, Rule::OneThreeS)
            | bit(std::abs(twoSd) >= 2, Rule::TwoTwoS) | bit(oneSdRun >= 4, Rule::FourOneS) | bit(meanRun >= 6, Rule::SixX)
            | bit(meanRun >= 8, Rule::EightX) | bit(meanRun >= 9, Rule::NineX) | bit(meanRun >= 10, Rule::TenX)
            | bit(meanRun >= 12, Rule::TwelveX) | bit(oneSdRun >= 3, Rule::ThreeOneS)
            | bit(newest != 0 && (before == newest || beforeThat == newest), Rule::TwoOfThreeTwoS)
            | bit(std::abs(steps) >= 6, Rule::SevenT));
    }

    static std::size_t patternOf(int run, int needed)
    {
        const int length = std::abs(run);
        return length >= needed ? static_cast<std::size_t>(length) : 0;
    }
};

} // namespace mk::stats
