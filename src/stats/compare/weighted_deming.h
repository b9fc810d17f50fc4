// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/compare/deming.h"

#include <span>

namespace mk::stats {

/// Deming regression for errors that grow with the level, at a constant CV. Each pair weighs by the inverse square of its level
/// (x̂ + errorRatio ŷ) / (1 + errorRatio), where x̂ and ŷ lie on the line: x̂ = x + errorRatio slope d / (1 + errorRatio slope²),
/// ŷ = y - d / (1 + errorRatio slope²), d = y - line(x). From the unweighted line on, weights and line are renewed until both of its
/// members move by less than 1e-10 of their size. Intervals by the jackknife, with t of n - 2.
/// x, y         [n >= 1], all above 0; not reordered
/// errorRatio   variance of the errors of x over that of y, above 0
/// returns      as deming; no line also where the weights do not settle
/// time         the jackknife fits n lines anew: quadratic in n
/// errors       BadInput as deming, and a number that is not above 0
/// source       Linnet, Stat Med 1990;9:1463 and Clin Chem 1993;39:424; the weights as in the R package mcr
base::Result<Deming> weightedDeming(std::span<const double> x, std::span<const double> y, double errorRatio = 1, double confidence = 0.95);

} // namespace mk::stats
