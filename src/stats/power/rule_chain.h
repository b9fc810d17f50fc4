// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/rules/control_rules.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

/// Control rules as a finite Markov chain, after Champ & Woodall, Technometrics 1987;29:393-399. Rules cut at whole SD see a result
/// only as one of a few zones, so what they remember of a level is one of a few states, and the chance to be in each after a set
/// follows exactly from the chances before it. Across the levels nothing more is remembered: while nothing has fired, the counts of
/// the levels say how far back a run across them reaches.
namespace mk::stats {

/// What is wrong with the measuring. Results are normal, independent, and alike for all levels.
/// shift    systematic error, in SD of the control
/// random   factor on that SD, > 0
struct MethodError {
    double shift = 0;
    double random = 1;
};

/// A range of scores that the rules in use cannot tell apart.
/// side     1 above the mean, -1 below, 0 where the zone spans the mean
/// beyond   the largest limit, in whole SD, that its scores are beyond; 0 when none
struct ScoreZone {
    double lower = 0;
    double upper = 0;
    int side = 0;
    int beyond = 0;
};

/// What the counts do once a rule has fired.
enum class AfterAlarm {
    Fresh, ///< they start anew
    GoOn   ///< they go on, as ControlSeries has it: a pattern that goes on fires again
};

/// The states of one level, and what the rules say of the levels together. Where counts go on, no step fires: the state to which it leads
/// knows that its newest result did, and the verdicts say so, of one level too.
struct RuleChain {
    /// The state to which a result in a zone leads.
    struct Move {
        std::uint32_t zone = 0;
        std::uint32_t to = 0;
    };
    /// From one state: the results that fire no rule within the level, and the zones of those that do.
    struct Step {
        std::vector<Move> moves;
        std::vector<std::uint32_t> firing;
    };

    std::size_t levels = 1;
    bool readsDifference = false; ///< whether R-4s is in use, and read as a difference
    std::vector<ScoreZone> zones; ///< from the lowest to the highest
    std::vector<Step> steps;      ///< of each state; state 0 has no history
    /// What a set leads to, by the states of its levels as digits, first level first: 0 when a rule across the levels fires, else 1 + the
    /// zones of its results read likewise. Empty with one level whose counts start anew.
    std::vector<std::uint16_t> verdicts;
};

/// The most combinations of level states that a chain may have: 4 million, two tables of 32 MB.
inline constexpr std::size_t kMostChainStates = std::size_t { 1 } << 22U;
/// Whoever asks for so many sets gets a chain for any number.
inline constexpr std::size_t kAnyNumberOfSets = SIZE_MAX;

/// settings   rules without 7T, which needs the values themselves; 1 to 4 levels. A score on a limit has no chance, so onLimit is not read
/// sets       how many sets are asked about, >= 1: fewer need fewer states
/// returns    nothing when there would be more than kMostChainStates combinations
std::optional<RuleChain> ruleChain(const RuleSettings& settings, std::size_t sets, AfterAlarm after = AfterAlarm::Fresh);

} // namespace mk::stats
