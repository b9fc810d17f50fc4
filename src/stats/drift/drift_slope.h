// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>
#include <span>

namespace mk::stats {

/// Above this many points all pairs no longer fit; thin the series, such as to daily means.
inline constexpr std::size_t kMostDriftPoints = 5000;

/// A robust straight line over time.
/// pairs       how many pairs of points at different times the slope rests on
/// slope       the median of their slopes, in units of value a unit of time
/// intercept   the median of value - slope time
/// slopeCi     distribution-free interval of the slope; nothing when so few points bear none at this confidence
struct DriftSlope {
    std::size_t n = 0;
    std::size_t pairs = 0;
    double slope = 0;
    double intercept = 0;
    std::optional<Interval> slopeCi;
};

/// time, value   [2 <= n <= kMostDriftPoints] each, any order; results of one time are not compared with each other
/// confidence    two-sided, strictly between 0 and 1. Ranks are taken outward, so the interval is at least as wide as asked for
/// errors        BadInput: other lengths, numbers that are not finite or too large, fewer than two times, too many points, a confidence
///               out of bounds
/// source        P. K. Sen, J. Am. Stat. Assoc. 1968;63:1379, with its variance for ties of time
base::Result<DriftSlope> driftSlope(std::span<const double> time, std::span<const double> value, double confidence = 0.95);

} // namespace mk::stats
