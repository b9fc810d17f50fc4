// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/rules/control_score.h"
#include "stats/rules/rule.h"
#include "stats/rules/rule_counts.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// How R-4s reads a set.
enum class RangeReading {
    Opposite,  ///< one result beyond +2 SD and another beyond -2 SD
    Difference ///< two results more than 4 SD apart
};

/// A result of one level in a set. level: 0, 1, 2 …; the numbers need not be dense
struct LevelScore {
    std::size_t level = 0;
    ControlScore score;
};

/// A rule that fires on a set.
/// level    the level whose own sequence fires it; nothing when it fires across the levels
/// points   how many results, ending with this set, stand in the pattern: the whole unbroken run, so 5 when 4-1s fires once more;
///          for rules that read one set, the results of that set in the pattern
struct FiredRule {
    Rule rule = Rule::OneTwoS;
    std::optional<std::size_t> level;
    std::size_t points = 0;

    friend bool operator==(const FiredRule&, const FiredRule&) = default;
};

/// levels   how many levels a complete set has, >= 1; with 1 nothing is read across levels
struct RuleSettings {
    std::vector<Rule> rules;
    RangeReading rangeReading = RangeReading::Opposite;
    OnLimit onLimit = OnLimit::In;
    std::size_t levels = 2;
};

/// The counts that the control rules keep over one sequence of sets, such as the sets of one meter between two segment boundaries.
/// Within a level they run over that level's results, whatever sets lack it. Across levels they run over whole sets: complete, adjacent
/// ones with every result on the same side, so that the order of the results in a set never matters; 4-1s across three levels thus
/// takes two sets, six results. An incomplete set breaks them. A result exactly on
/// the mean is on neither side. No rule's firing resets a count. Source: handbook 6.2.
class ControlSeries {
public:
    explicit ControlSeries(RuleSettings settings);

    /// Other rules from now on; the counts go on.
    void changeTo(RuleSettings settings);

    /// A segment boundary: every count starts again.
    void restart();

    /// set       the first attempts of one set: at least one score, levels ascending, each at most once
    /// returns   every rule of the settings that fires on it, in their order; of one rule the levels first, then across
    std::vector<FiredRule> add(std::span<const LevelScore> set);

private:
    struct LevelState {
        LevelCounts counts;
        std::optional<ControlScore> last;
    };

    int sideBeyond(const ControlScore& score, int limitSd) const;
    void countLevel(const LevelScore& result);
    void countAcross(std::span<const LevelScore> set);
    int commonSide(std::span<const LevelScore> set, int limitSd) const;
    bool isComplete(std::span<const LevelScore> set) const { return set.size() >= m_settings.levels; }
    std::size_t pointsAcross(Rule rule, std::span<const LevelScore> set) const;
    std::size_t pointsInSet(std::span<const LevelScore> set, int limitSd, std::size_t needed) const;
    std::size_t pointsOfRange(std::span<const LevelScore> set) const;

    RuleSettings m_settings;
    std::vector<LevelState> m_levels;
    int m_acrossMean = 0; // runs of whole sets
    int m_acrossOneSd = 0;
};

/// The rules over a long series of one level, as ControlSeries decides them when each set holds that level alone.
/// z       [n], finite, oldest first. Scores of at most 15 digits are decided as exactly as their decimals: the limits are whole
/// masks   [n]; receives the rules that fire on each. R-4s reads one set and never fires here
void ruleMasks(std::span<const double> z, OnLimit onLimit, std::span<RuleMask> masks);

} // namespace mk::stats
