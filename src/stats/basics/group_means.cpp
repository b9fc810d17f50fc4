// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/group_means.h"

#include <cassert>

namespace mk::stats {

GroupMeans groupMeans(std::span<const std::size_t> group, std::size_t groups, std::span<const double> values, double centre)
{
    assert(group.size() == values.size());
    const long double origin = centre;
    GroupMeans means { std::vector<std::size_t>(groups), std::vector<long double>(groups) };
    std::vector<long double> rest(groups);
    for (std::size_t i = 0; i < values.size(); ++i) {
        ++means.n[group[i]];
        means.mean[group[i]] += values[i] - origin;
    }
    for (std::size_t g = 0; g < groups; ++g)
        means.mean[g] /= static_cast<long double>(means.n[g] == 0 ? 1 : means.n[g]);
    for (std::size_t i = 0; i < values.size(); ++i) // what the first pass rounded away
        rest[group[i]] += (values[i] - origin) - means.mean[group[i]];
    for (std::size_t g = 0; g < groups; ++g)
        means.mean[g] += rest[g] / static_cast<long double>(means.n[g] == 0 ? 1 : means.n[g]);
    return means;
}

long double meanOfGroups(const GroupMeans& means)
{
    long double sum = 0;
    std::size_t n = 0;
    for (std::size_t g = 0; g < means.n.size(); ++g) {
        sum += static_cast<long double>(means.n[g]) * means.mean[g];
        n += means.n[g];
    }
    assert(n > 0);
    return sum / static_cast<long double>(n);
}

long double squaresWithin(std::span<const std::size_t> group, const GroupMeans& means, std::span<const double> values, double centre)
{
    const long double origin = centre;
    long double squares = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const long double deviation = (values[i] - origin) - means.mean[group[i]];
        squares += deviation * deviation;
    }
    return squares;
}

} // namespace mk::stats
