// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <span>

namespace mk::stats {

/// Whether two columns can be computed with as pairs.
/// errors  BadInput: columns of different lengths, fewer than `least` pairs, a number that is not finite, with its place from 1
base::Done checkPairs(std::span<const double> x, std::span<const double> y, std::size_t least);

/// What checkPairs has to say, or else that the numbers are too far apart; for sums that came out as no finite number.
base::Fault faultOfPairs(std::span<const double> x, std::span<const double> y);

/// Means of two columns and their sums of squares and products about the means, in the units of the data (squared).
struct PairMoments {
    std::size_t n = 0;
    double meanX = 0;
    double meanY = 0;
    double sxx = 0;
    double syy = 0;
    double sxy = 0;
};

/// Two passes: means of the distances to the first pair, then sums about the means with the rest of the mean taken out.
/// x, y    [n >= 1]
/// errors  BadInput as checkPairs, and when the sums are too large for a double
/// source  Chan, Golub & LeVeque, Am Stat 1983;37:242
base::Result<PairMoments> pairMoments(std::span<const double> x, std::span<const double> y);

} // namespace mk::stats
