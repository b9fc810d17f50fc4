// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

/// Has this meter moved from its own usual value, and does it stand apart from the others? (handbook 6.5, steps 2 to 10)
/// One meter, set after set in the order in which they were run. Deviations are in percent of the base of their lots and level; scores in
/// SD of one result. Limits are strict; what lies within 1e-9 of one stands on it.
namespace mk::stats {

inline constexpr std::size_t kUsualLevels = 3;  ///< low, normal, high, by their place
inline constexpr std::int64_t kKnowsItself = 5; ///< controls from which on what a meter usually reads off counts

/// The defaults are those of handbook 6.5.
/// k, h      slack and decision limit of the sums, which are capped at 2 h
/// learned   so many controls make the usual value, then it is frozen
/// prior     the weight of the value it starts from, in controls: meters usually differ by half an SD
/// newest    so many newest controls say where the meter stands now; three at least
struct UsualSettings {
    double k = 1;
    double h = 4;
    std::int64_t learned = 20;
    double prior = 2;
    std::size_t newest = 7;
};

enum class Way { None, High, Low };

/// What is kept of one level; percent.
/// n, sum      the controls that made the usual value, and their sum; start   what it starts from: the group (0), or what was accepted
/// newest      oldest first; wild results held
/// slow, count its slow mean, and all controls since it was new
/// apart       stands apart, until it comes back within the limit
/// silentAt    it was accepted with this slow mean, and is silent until that has moved by more than the limit
struct UsualLevel {
    std::int64_t n = 0;
    double sum = 0;
    double start = 0;
    std::vector<double> newest {};
    double slow = 0;
    std::int64_t count = 0;
    bool apart = false;
    std::optional<double> silentAt {};

    double usual(const UsualSettings& settings) const;
    /// Nothing below three controls.
    std::optional<double> newestMean() const;
    friend bool operator==(const UsualLevel&, const UsualLevel&) = default;
};

/// All that the next set of a meter is judged with.
/// upSince, downSince, began   marks of sets: where a sum left 0; where the one that is told of did
/// stopped                     while told: it moved, or stands, further than half of what a comparison allows
/// lot                         the others on the lots moved the same way
struct UsualState {
    std::array<UsualLevel, kUsualLevels> levels {};
    double up = 0, down = 0;
    std::optional<std::int64_t> upSince {}, downSince {}, began {};
    Way told = Way::None;
    bool stopped = false;
    bool lot = false;

    bool apart() const;
    friend bool operator==(const UsualState&, const UsualState&) = default;
};

/// One counted result: the first attempt of its level in the set.
/// base   what the group reads on these lots and level; cv   percent, > 0
/// limit  half of what a comparison allows at the base, in percent
struct UsualReading {
    enum class Kind { Number, High, Low };
    std::size_t level = 0;
    Kind kind = Kind::Number;
    double value = 0;
    double base = 0;
    double cv = 0;
    double limit = 0;
};

/// What a set says of one level.
/// usual, newest   the usual value it was judged with, and where the newest controls stand, with this one; percent
/// u               its score, not held; HI and LO: plus and minus infinity
struct LevelMove {
    std::size_t level = 0;
    double cv = 0, limit = 0;
    double usual = 0;
    double u = 0;
    std::optional<double> newest {};

    /// In SD; nothing below three controls.
    std::optional<double> moved() const;
};
/// score   of the whole set
struct UsualSet {
    double score = 0;
    std::vector<LevelMove> levels {};
};

/// The score of a result against the usual value, in SD, not held. A repeat is scored by the level as it stood before its set.
double usualScore(const UsualLevel& before, const UsualReading& reading, const UsualSettings& settings);

/// As it enters the score of a set: one wild result is no drift.
double heldScore(double u);

/// Takes a counted set in: scores, sums, told, stopped, what is learned, the slow mean (steps 2 to 8).
/// readings   at least one, each level at most once
/// mark       names the set in upSince, downSince and began
UsualSet advance(UsualState& state, std::span<const UsualReading> readings, std::int64_t mark, const UsualSettings& settings);

/// Does the meter stand apart at a level of the set just taken in? (step 9)
/// others   the median of the slow means of the other meters on the strip lot; 0 where they are too few
void judgeApart(UsualState& state, const LevelMove& level, double others);

/// What the other meters on the same lots did at a level of the set just taken in: the median of their moves in SD, where there are at
/// least two of them with five controls each.
struct OthersMove {
    LevelMove own;
    std::optional<double> others {};
};
/// Whom the stop is about. Lot: all meters on the lots are off by more than the limit.
enum class UsualStop { None, Meter, Lot };
/// Is it the meter or the lot, and what is stopped now? (step 10) While the lot is the cause, its move is taken off before a meter is
/// stopped.
UsualStop judgeCause(UsualState& state, std::span<const OthersMove> levels);

/// After a repair or a return without a comparison: the group is the measure until the meter has its own.
void restart(UsualState& state);
/// The meter is taken as it stands: where it reads now is its usual value from here on.
void acceptAsItStands(UsualState& state, const UsualSettings& settings);

} // namespace mk::stats
