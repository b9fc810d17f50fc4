// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>

namespace mk::stats {

inline constexpr std::size_t kPairLanes = 4;
/// One partial sum for each lane, for each of the sums.
template <std::size_t Sums>
using PairLanes = std::array<std::array<double, kPairLanes>, Sums>;

/// Adds up over [0, n) in double, in four lanes side by side and in blocks, whose totals are added up in long double: as fast as a
/// plain sum, and with rounding of a block instead of the whole.
/// add(lanes, lane, i)   adds what i contributes to lanes[sum][lane]
/// returns               the totals
template <std::size_t Sums, typename Add>
std::array<long double, Sums> sumOverPairs(std::size_t n, Add add)
{
    constexpr std::size_t kBlock = 2048;
    std::array<long double, Sums> totals {};
    for (std::size_t begin = 0; begin < n; begin += kBlock) {
        const std::size_t end = std::min(n, begin + kBlock);
        PairLanes<Sums> lanes {};
        std::size_t i = begin;
        for (; i + kPairLanes <= end; i += kPairLanes) {
            for (std::size_t lane = 0; lane < kPairLanes; ++lane)
                add(lanes, lane, i + lane);
        }
        for (; i < end; ++i)
            add(lanes, 0, i);
        for (std::size_t sum = 0; sum < Sums; ++sum)
            totals[sum] += (lanes[sum][0] + lanes[sum][1]) + (lanes[sum][2] + lanes[sum][3]);
    }
    return totals;
}

} // namespace mk::stats
