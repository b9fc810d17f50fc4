// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/power/rule_chain.h"

#include <cstddef>
#include <vector>

namespace mk::stats {

/// For each combination of zones, first level first, the chance that the results of a set lie within 4 SD of each other, given that
/// they lie in those zones.
/// zones    [>= 1], from the lowest to the highest, without gaps
/// returns  [zones ^ levels]; 1 for combinations that have no chance
/// source   P(range <= 4) = sum over the lowest result: integral of its density times the chance that the others lie in their zones and
///          less than 4 above it; Gauss-Legendre between the points where a zone begins or ends, good to 1e-13
std::vector<double> chancesWithinFour(const std::vector<ScoreZone>& zones, std::size_t levels, const MethodError& error);

} // namespace mk::stats
