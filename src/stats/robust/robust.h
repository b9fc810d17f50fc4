// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <optional>
#include <span>

namespace mk::stats {

/// What makes a median absolute deviation an SD of normal results: 1 / Phi^-1(0.75), not rounded. Some standards print 1.483.
inline constexpr double kMadToSd = 1.482602218505602;

/// Median of |value - median| times kMadToSd, in the units of the data. values: [n >= 1], finite; not reordered
/// returns  0 when more than half of the values are the same, however far apart the others lie
double scaledMad(std::span<const double> values);

/// How Algorithm A is run; the defaults are the numbers of the standard.
/// k             values farther than k SD from the mean are pulled in to that distance, > 0
/// sdFactor      what makes up for the pulling in, > 0; the standard rounds it to 1.134
/// startFactor   of the median absolute deviation at the start, > 0; the standard rounds it to 1.483. The result hardly depends on it
/// tolerance     the steps end when mean and SD change by less than this part of the SD, > 0. The standard ends at the third digit of
///               the SD, which is some steps earlier: its SD can lie lower in that digit
struct AlgorithmAOptions {
    double k = 1.5;
    double sdFactor = 1.134;
    double startFactor = 1.483;
    double tolerance = 1e-9;
    std::size_t mostIterations = 1000;
};

/// A mean and SD that a few wild values cannot carry away: up to about a fifth of them. From about a quarter on one side on they do
/// (breakdown at 0.257 with k 1.5), while the median holds to a half; a mean more than one scaled deviation from the median tells it.
/// iterations   how many times both were computed anew
struct AlgorithmA {
    double mean = 0;
    double sd = 0;
    std::size_t iterations = 0;
};

/// values    [n >= 2], any order; not reordered
/// returns   the same value n times: that mean, SD 0, no iterations. Nothing when more than half of the values are the same but not all:
///           the SD to start from is then 0 and every other value would count as wild. Nothing when the steps do not come to rest or
///           to rest at 0
/// errors    BadInput: fewer than two values, one that is not finite, values too far apart
/// source    Algorithm A of ISO 13528 and ISO 5725-5 (as the reference set gives it); it starts at the median and the scaled median
///           absolute deviation, then mean = mean of x*, sd = 1.134 sqrt(sum (x* - mean)^2 / (n - 1)), where x* are the values pulled in
base::Result<std::optional<AlgorithmA>> algorithmA(std::span<const double> values, const AlgorithmAOptions& options = {});

} // namespace mk::stats
