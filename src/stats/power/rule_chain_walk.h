// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/power/rule_chain.h"

#include <cstddef>
#include <optional>

namespace mk::stats {

/// The chance that a rule fires at the n-th set at the latest, from an empty history.
/// chain   made for at least that many sets
double chainRejection(const RuleChain& chain, const MethodError& error, std::size_t sets);

/// The average number of sets up to and including the first on which a rule fires, from an empty history; nothing when none ever can.
/// It is the sum, over n = 0, 1, 2 …, of the chances to get through n sets. Once the share that fires no longer changes from set to
/// set, the rest of the sum is a geometric series. Good to 1e-9 of its value.
/// chain   made for any number of sets
std::optional<double> chainRunLength(const RuleChain& chain, const MethodError& error);

/// The chance that a rule fires on a set long after the start, where counts go on after each alarm: exact, since no rule looks back
/// further than the longest of them.
/// chain   made so, for any number of sets
double chainFiringShare(const RuleChain& chain, const MethodError& error);

} // namespace mk::stats
