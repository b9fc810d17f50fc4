// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace mk::stats {

/// A pair of numbers as whole steps of one grid that both columns share; slopes between such points are those of the numbers.
struct GridPoint {
    std::int64_t x = 0;
    std::int64_t y = 0;
};

/// Puts pairs of numbers on a common grid, so that ties are found in decimal: 0.3 - 0.2 equals 0.2 - 0.1 there, in doubles it does not.
/// x, y      of one length, finite
/// returns   steps of 10^-d for the smallest d with which every number is the double nearest to a decimal of d places, while no number
///           needs more than 15 digits: then exact. Otherwise steps of a power of two, 2^52 of them at most from 0 to the largest
///           number, to which the numbers are rounded. Either way no step count is beyond 2^52.
std::vector<GridPoint> onDecimalGrid(std::span<const double> x, std::span<const double> y);

} // namespace mk::stats
