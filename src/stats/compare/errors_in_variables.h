// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/straight_line.h"

#include <optional>
#include <span>

namespace mk::stats {

/// A straight line through points whose two coordinates each have their own standard deviation.
/// slopeError, interceptError   from the given SDs alone, not scaled by the scatter
/// chiSquare                    sum of the weighted squared residuals; about n - 2 where the SDs are right
/// reducedChiSquare             chiSquare / (n - 2); nothing with two points
struct ErrorsInVariables {
    StraightLine line;
    double slopeError = 0;
    double interceptError = 0;
    double chiSquare = 0;
    std::optional<double> reducedChiSquare;
};

/// Maximum likelihood line, iterated until the slope stands still. Errors of x and y are taken as independent.
/// x, y       [n >= 2], not reordered
/// sdX, sdY   [n] SDs of their errors, above 0
/// errors     BadInput: columns of different lengths, fewer than two pairs, a number that is not finite, an SD that is not above 0,
///            all x equal, no slope that stands still
/// source     York, Evensen, Martínez & Basabe, Am J Phys 2004;72:367, with r = 0; the same line as Ripley & Thompson, Analyst
///            1987;112:377
base::Result<ErrorsInVariables> errorsInVariables(
    std::span<const double> x, std::span<const double> y, std::span<const double> sdX, std::span<const double> sdY);

} // namespace mk::stats
