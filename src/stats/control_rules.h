// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/control_score.h"

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace mk::stats {

/// The published control rules that the program knows; source: handbook 6.2.
enum class Rule {
    OneTwoS, ///< 1-2s: one result beyond 2 SD
    OneThreeS, ///< 1-3s: one result beyond 3 SD
    TwoTwoS, ///< 2-2s: two beyond the same 2 SD, of one level in a row or two levels of one complete set
    RFourS, ///< R-4s: two results of one set far apart, see RangeReading
    FourOneS, ///< 4-1s: four in a row beyond the same 1 SD
    SixX, ///< 6x: six in a row on one side of the mean; 8x to 12x likewise
    EightX, ///< 8x
    NineX, ///< 9x
    TenX, ///< 10x
    TwelveX, ///< 12x
    ThreeOneS, ///< 3-1s: three beyond the same 1 SD, of one level in a row or all three levels of one set
    TwoOfThreeTwoS, ///< 2of3-2s: a result and another of its level's last three, or two of a set's three levels, beyond the same 2 SD
    SevenT ///< 7T: seven results of one level, each strictly above (or each below) the one before, six steps
};

/// The rule as it is written: "1-2s", "10x", "2of3-2s", "7T".
std::string_view name(Rule rule);
/// The rule written exactly so, or nothing.
std::optional<Rule> ruleNamed(std::string_view name);
/// Every rule, in the order of the enum.
std::span<const Rule> allRules();

/// How R-4s reads a set.
enum class RangeReading {
    Opposite, ///< one result beyond +2 SD and another beyond -2 SD
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
/// Within a level they run over that level's results, whatever sets lack it. Across levels they run over the results of complete,
/// adjacent sets in the order of the levels and are read at the end of a set; an incomplete set breaks them. A result exactly on
/// the mean is on neither side. No rule's firing resets a count. Source: handbook 6.2.
class ControlSeries {
public:
    explicit ControlSeries(RuleSettings settings);

    /// A segment boundary: every count starts again.
    void restart();

    /// set       the first attempts of one set: at least one score, levels ascending, each at most once
    /// returns   every rule of the settings that fires on it, in their order; of one rule the levels first, then across
    std::vector<FiredRule> add(std::span<const LevelScore> set);

private:
    /// Results in a row on one side of something.
    struct SideRun {
        int side = 0;
        std::size_t count = 0;
        void take(int newSide);
    };
    struct LevelCounts {
        SideRun mean;
        SideRun oneSd;
        SideRun twoSd;
        SideRun steps; // rising or falling
        std::array<int, 3> lastTwoSd = { 0, 0, 0 }; // sides beyond 2 SD, newest first
        std::optional<ControlScore> last;
    };
    struct AcrossCounts {
        SideRun mean;
        SideRun oneSd;
    };

    int sideBeyond(const ControlScore& score, int limitSd) const;
    void countLevel(const LevelScore& result);
    void countAcross(std::span<const LevelScore> set);
    bool isComplete(std::span<const LevelScore> set) const { return set.size() >= m_settings.levels; }
    std::size_t pointsInLevel(Rule rule, const LevelScore& result) const;
    std::size_t pointsAcross(Rule rule, std::span<const LevelScore> set) const;
    std::size_t pointsInSet(std::span<const LevelScore> set, int limitSd, std::size_t needed) const;
    std::size_t pointsOfRange(std::span<const LevelScore> set) const;

    RuleSettings m_settings;
    std::vector<LevelCounts> m_levels;
    AcrossCounts m_across;
};

} // namespace mk::stats
