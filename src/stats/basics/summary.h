// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/interval.h"

#include <cstddef>
#include <optional>
#include <span>

namespace mk::stats {

/// n, mean and the sum of squared deviations from it, with the extremes: all that a mean and an SD are made of.
/// squares   in the square of the data's unit; SD = sqrt(squares / (n - 1))
struct Moments {
    std::size_t n = 0;
    double mean = 0;
    double squares = 0;
    double min = 0;
    double max = 0;
};

/// Two passes: the mean, then the deviations from it, both corrected by the sum of the deviations, so that a large common offset costs
/// no digits. Partial sums run side by side; they are joined in an order that depends on n alone.
/// values   [n >= 1]; where one is not finite or a square overflows, `squares` is not finite
/// source   Chan, Golub & LeVeque, Am Stat 1983;37:242-247: corrected two-pass algorithm
Moments moments(std::span<const double> values);

/// What a series of results says at a glance.
/// sd          with n - 1; nothing below two values, nor are the intervals
/// cvPercent   100 sd / mean; nothing without an SD or with a mean of 0
/// meanCi      t interval of the mean; sdCi   chi-square interval of the SD: both assume normal results
struct Summary {
    std::size_t n = 0;
    double mean = 0;
    double median = 0;
    double min = 0;
    double max = 0;
    std::optional<double> sd;
    std::optional<double> cvPercent;
    std::optional<Interval> meanCi;
    std::optional<Interval> sdCi;
};

/// values       [n >= 1], in any order; not reordered
/// confidence   two-sided, strictly between 0 and 1
/// errors       BadInput: no values, a value that is not a finite number, values too large to be squared, a confidence out of bounds
/// source       mean and SD: handbook 6.1; intervals: the usual normal-theory formulas
base::Result<Summary> summarize(std::span<const double> values, double confidence = 0.95);

/// The middle value, or the average of the middle two. values: [n >= 1], finite; not reordered
double median(std::span<const double> values);

} // namespace mk::stats
