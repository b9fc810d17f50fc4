// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace mk::stats {

/// How many values each group has and their mean less `centre`, kept long so that no digit is lost before the squares.
struct GroupMeans {
    std::vector<std::size_t> n;
    std::vector<long double> mean;
};

/// group    [n], below `groups`; values [n], finite; centre: one of the values, or near them
/// returns  a mean of 0 for a group without values
GroupMeans groupMeans(std::span<const std::size_t> group, std::size_t groups, std::span<const double> values, double centre);

/// The mean of all values, less the same centre. At least one group has a value.
long double meanOfGroups(const GroupMeans& means);

/// Sum of (value - centre - mean of its group)^2.
long double squaresWithin(std::span<const std::size_t> group, const GroupMeans& means, std::span<const double> values, double centre);

} // namespace mk::stats
