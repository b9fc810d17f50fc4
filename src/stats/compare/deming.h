// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/paired_values.h"
#include "stats/basics/straight_line.h"
#include "stats/basics/summary.h"

#include <optional>
#include <span>

namespace mk::stats {

/// Deming's line in closed form: with d = 1 / errorRatio,
/// slope = (syy - d sxx + sqrt((syy - d sxx)² + 4 d sxy²)) / (2 sxy), intercept = meanY - slope meanX.
/// errorRatio   variance of the errors of x over that of y, above 0 and finite; other texts use the inverse
/// returns      nothing where no slope is determined: no spread in x, no covariance and y spread as wide as x, or
///              sums so large, or a ratio so extreme, that doubles do not hold them
/// source       Linnet, Clin Chem 1993;39:424
std::optional<StraightLine> demingLine(const PairMoments& moments, double errorRatio);

/// Jackknife uncertainty of Deming's line: SD of the pseudovalues over sqrt(n), t with n - 2. Each pair is taken out of the sums about
/// the means, so the whole is O(n).
/// x, y      those of the moments
/// returns   nothing below three pairs, or where the line of some n - 1 pairs is not determined
/// source    Linnet, Clin Chem 1993;39:424
std::optional<LineUncertainty> demingJackknife(
    std::span<const double> x, std::span<const double> y, const PairMoments& moments, double errorRatio);

/// Deming regression with its jackknife intervals; members are nothing where they are not determined.
struct Deming {
    std::optional<StraightLine> line;
    std::optional<LineUncertainty> uncertainty;
    std::optional<Interval> slopeCi;
    std::optional<Interval> interceptCi;
};

/// A line and its uncertainty with t intervals.
Deming demingWithIntervals(const std::optional<StraightLine>& line, const std::optional<LineUncertainty>& uncertainty, double confidence);
/// errors   BadInput: an error ratio that is not above 0, a confidence out of bounds
base::Done checkDeming(double errorRatio, double confidence);

/// x, y     [n >= 1], not reordered
/// errors   BadInput: columns of different lengths, no pairs, a number that is not finite, values too large to be squared, an error ratio
///          that is not above 0, a confidence out of bounds
base::Result<Deming> deming(std::span<const double> x, std::span<const double> y, double errorRatio = 1, double confidence = 0.95);

} // namespace mk::stats
