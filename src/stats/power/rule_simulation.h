// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/power/rule_chain.h"

#include <cstddef>

namespace mk::stats {

/// What a simulation found, and how far off it may be: one standard error, never 0.
struct Simulated {
    double value = 0;
    double standardError = 0;
};

/// The normal deviate of one result of one simulated series: the same on every machine, for every error that is tried (common random
/// numbers), whatever was drawn before. series < 2^22, set < 2^38, level < 4.
/// source   SplitMix64 (Steele, Lea & Flood 2014) as a counter; the deviate by the inverse of the normal distribution function
double simulatedDeviate(std::size_t series, std::size_t set, std::size_t level);

/// The chance that a rule fires at the n-th set at the latest, from an empty history: the share of simulated series that
/// ControlSeries rejects.
/// settings   any rules; levels 1 to 4
/// sets       >= 1; between 2,000 and 100,000 series are drawn, the fewer the longer they are
Simulated simulatedRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets);

/// The average number of sets up to and including the first on which a rule fires, from an empty history: the mean length of
/// simulated series. Between 200 and 50,000 are drawn, about two million sets; none longer than a million sets.
/// settings   rules of which one can fire; levels 1 to 4
Simulated simulatedRunLength(const RuleSettings& settings, const MethodError& error);

/// The share of sets on which a rule fires where counts go on after each alarm: of simulated series of 1,000 sets, past their start.
Simulated simulatedFiringShare(const RuleSettings& settings, const MethodError& error);

} // namespace mk::stats
