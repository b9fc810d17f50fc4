// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/basics/decimal_grid.h"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

/// The slopes of all pairs of points in the order that Passing and Bablok (1983) count them: from just above -1 up to vertical, and on
/// from minus infinity to just below -1. Their "shift by K" is this order; in it a vertical pair needs no sign. Pairs of identical
/// points and slopes of exactly -1 are left out.
namespace mk::stats {

/// How many pairs of points there are of each kind; used is those that count: above, vertical and below.
struct PairSlopeCounts {
    std::uint64_t used = 0;
    std::uint64_t identical = 0;
    std::uint64_t minusOne = 0;
    std::uint64_t vertical = 0;
    std::uint64_t below = 0; ///< finite slopes below -1
};

/// O(n log n). points: at most 2^32 - 1
PairSlopeCounts countPairSlopes(std::span<const GridPoint> points);
/// Only how many count; the cheapest part of countPairSlopes.
std::uint64_t countUsedSlopes(std::span<const GridPoint> points);

/// The slopes at ranks of that order.
/// ranks     ascending, from 1, at most the number of used slopes; a rank may stand twice
/// returns   for each rank the slope, or nothing where it is vertical or below -1, where no line is to be had
/// time      listed: n² / 2 slopes are made and held; selected: O(n log n) expected and O(n) space
/// source    selected: Matoušek, Mount & Netanyahu, Algorithmica 1998;20:69 - a sample of the slopes gives a bracket around the rank,
///           counting inversions tells how many lie below it, what is left inside is listed. Exact: counts are of whole numbers, so both
///           ways agree to the last bit
std::vector<std::optional<double>> selectPairSlopes(std::span<const GridPoint> points, std::span<const std::uint64_t> ranks);

/// All slopes, written out.
/// above   finite ones above -1 and some of the vertical as infinity, in no order
/// used    how many count
struct ListedSlopes {
    std::vector<double> above;
    std::uint64_t used = 0;
};
ListedSlopes listPairSlopes(std::span<const GridPoint> points);
/// As selectPairSlopes, out of the list, which it reorders.
std::vector<std::optional<double>> slopesAtRanks(ListedSlopes& list, std::span<const std::uint64_t> ranks);

} // namespace mk::stats
