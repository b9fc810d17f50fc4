// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/straight_line.h"
#include "stats/basics/summary.h"

#include <optional>
#include <span>

namespace mk::stats {

/// A straight line by least squares of y; errors of x are taken to be nothing.
/// line                    nothing when all x are equal
/// residualSd              sqrt(sum of weighted squared residuals / (n - 2)), s_y.x; nothing below three pairs, nor are uncertainty and
///                         intervals
/// r, rSquared             (weighted) correlation and its square; nothing when x or y do not vary
/// slopeCi, interceptCi    t intervals with n - 2 degrees of freedom
struct LeastSquares {
    std::optional<StraightLine> line;
    std::optional<double> residualSd;
    std::optional<double> r;
    std::optional<double> rSquared;
    std::optional<LineUncertainty> uncertainty;
    std::optional<Interval> slopeCi;
    std::optional<Interval> interceptCi;
};

/// Two passes about the (weighted) means, in long double.
/// x, y         [n >= 1], not reordered
/// weights      [n], above 0: inverse variances of y up to a factor, which the residuals settle; empty: all alike
/// confidence   two-sided, strictly between 0 and 1
/// errors       BadInput: columns of different lengths, no pairs, a number that is not finite, a weight that is not above 0, values too
///              far apart, a confidence out of bounds
/// source       any textbook of regression; held against NIST StRD Norris
base::Result<LeastSquares> leastSquares(
    std::span<const double> x, std::span<const double> y, std::span<const double> weights = {}, double confidence = 0.95);

} // namespace mk::stats
