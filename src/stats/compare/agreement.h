// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>
#include <span>

namespace mk::stats {

/// Which standard error a limit of agreement is given. s: SD of the differences, z: 1.959964, the normal quantile
enum class LimitError {
    Full,  ///< s sqrt(1/n + z² / (2 (n - 1))): variance of the mean plus that of z times the SD
    Simple ///< s sqrt(3/n): Bland & Altman, Lancet 1986;1:307
};

/// Agreement of two methods, in the units of the data. A difference is test minus reference.
/// sd                          of the differences, with n - 1; nothing below two pairs, nor is anything that follows
/// lower, upper                95 % limits of agreement, bias ∓ 1.96 sd, whatever the confidence of the intervals
/// biasError, limitError       standard errors
/// biasCi, lowerCi, upperCi    t intervals with n - 1 degrees of freedom
struct Agreement {
    std::size_t n = 0;
    double bias = 0;
    std::optional<double> sd;
    std::optional<double> lower;
    std::optional<double> upper;
    std::optional<double> biasError;
    std::optional<double> limitError;
    std::optional<Interval> biasCi;
    std::optional<Interval> lowerCi;
    std::optional<Interval> upperCi;
};

/// Bland-Altman agreement; assumes differences that are about normal and do not grow with the level.
/// reference, test   [n >= 1], of one length; not reordered
/// confidence        of the intervals, two-sided, strictly between 0 and 1
/// errors            BadInput: no pairs, columns of different lengths, a number that is not finite, differences too large to be squared,
///                   a confidence out of bounds
/// source            Bland & Altman 1986 and Stat Methods Med Res 1999;8:135; 1.96 as published, and as in handbook 5.5
base::Result<Agreement> agreement(
    std::span<const double> reference, std::span<const double> test, double confidence = 0.95, LimitError error = LimitError::Full);

} // namespace mk::stats
