// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/rank_correlation.h"

#include "stats/basics/inversions.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <limits>
#include <numeric>
#include <utility>
#include <vector>

namespace mk::stats {

namespace {

/// Pairs among neighbours that are the same.
template <typename Values>
std::uint64_t tiedPairs(const Values& sorted)
{
    std::uint64_t pairs = 0, run = 0;
    for (std::size_t i = 1; i < sorted.size(); ++i) {
        run = sorted[i] == sorted[i - 1] ? run + 1 : 0;
        pairs += run;
    }
    return pairs;
}

std::vector<double> inOrder(std::span<const double> values)
{
    std::vector<double> sorted(values.begin(), values.end());
    std::ranges::sort(sorted);
    return sorted;
}

/// Pairs that fall: inversions of the places of y in the order of x, where ties stand so that they are none.
std::uint64_t fallingPairs(const std::vector<std::pair<double, double>>& byX)
{
    std::vector<std::uint32_t> byY(byX.size());
    std::iota(byY.begin(), byY.end(), 0U);
    std::ranges::stable_sort(byY, {}, [&byX](std::uint32_t point) { return byX[point].second; });
    std::vector<std::uint32_t> places(byX.size());
    for (std::uint32_t place = 0; place < byY.size(); ++place)
        places[byY[place]] = place;
    return countInversions(std::move(places));
}

} // namespace

base::Result<RankCorrelation> rankCorrelation(std::span<const double> x, std::span<const double> y)
{
    if (const auto checked = checkPairs(x, y, 1); !checked)
        return checked.error();
    if (x.size() > std::numeric_limits<std::uint32_t>::max())
        return base::badInput("there are too many pairs to compare each with each; give at most four thousand million");
    std::vector<std::pair<double, double>> points(x.size());
    std::ranges::transform(x, y, points.begin(), [](double oneX, double oneY) { return std::pair(oneX, oneY); });
    std::ranges::sort(points);
    const std::uint64_t n = x.size(), all = n * (n - 1) / 2;
    const std::uint64_t tied = tiedPairs(inOrder(x)) + tiedPairs(inOrder(y)) - tiedPairs(points);
    RankCorrelation result;
    result.discordant = fallingPairs(points);
    result.concordant = all - tied - result.discordant;
    if (all > 0)
        result.tau = (static_cast<double>(result.concordant) - static_cast<double>(result.discordant)) / static_cast<double>(all);
    return result;
}

} // namespace mk::stats
