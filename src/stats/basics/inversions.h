// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

namespace mk::stats {

/// How many pairs of entries stand in falling order, by merge sort. sequence: all different
std::uint64_t countInversions(std::vector<std::uint32_t> sequence);

/// Some of those pairs, as (larger, smaller) entry, out of a fixed enumeration of all of them.
/// places   ascending, from 0, below countInversions(sequence)
std::vector<std::pair<std::uint32_t, std::uint32_t>> pickInversions(
    std::vector<std::uint32_t> sequence, std::span<const std::uint64_t> places);

} // namespace mk::stats
