// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/passing_bablok.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/compare/pair_slopes.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>
#include <vector>

namespace mk::stats {

namespace {

constexpr std::size_t kListedPoints = 150; // about where listing all pairs becomes slower than counting inversions

/// Ranks of the slopes that are asked for, among those in use.
struct PassingBablokRanks {
    std::uint64_t middle = 0; // the lower of the two where their number is even
    std::uint64_t middleToo = 0;
    std::optional<std::uint64_t> lower;
    std::optional<std::uint64_t> upper;

    std::vector<std::uint64_t> ascending() const
    {
        std::vector<std::uint64_t> ranks = { middle, middleToo };
        if (lower && upper) {
            ranks.insert(ranks.begin(), *lower);
            ranks.push_back(*upper);
        }
        return ranks;
    }
};

PassingBablokRanks middleRanks(std::uint64_t used)
{
    PassingBablokRanks ranks;
    ranks.middle = (used + 1) / 2;
    ranks.middleToo = used / 2 + 1;
    return ranks;
}

/// M1 and M2; nothing where M1 is not from 1 to the middle.
void addLimitRanks(PassingBablokRanks& ranks, std::uint64_t used, std::size_t n, double confidence)
{
    const auto count = static_cast<double>(n);
    const auto slopes = static_cast<double>(used);
    const double c = normalFactor(confidence) * std::sqrt(count * (count - 1) * (2 * count + 5) / 18);
    const double lower = std::round((slopes - c) / 2);
    if (!(lower >= 1))
        return;
    // A confidence near 0 makes C less than a rank, and rounding would let the limits cross.
    ranks.lower = std::min(static_cast<std::uint64_t>(lower), ranks.middle);
    ranks.upper = used - *ranks.lower + 1;
}

std::optional<double> middleSlope(const std::optional<double>& a, const std::optional<double>& b)
{
    return a && b ? std::optional(std::midpoint(*a, *b)) : std::nullopt;
}

/// ranksOf(used) says which ranks. returns them and the slopes there; no slopes where none is in use
template <typename RanksOf>
std::pair<PassingBablokRanks, std::vector<std::optional<double>>> slopesFor(
    std::span<const GridPoint> points, std::uint64_t& used, RanksOf ranksOf)
{
    if (points.size() <= kListedPoints) {
        auto list = listPairSlopes(points);
        used = list.used;
        const PassingBablokRanks ranks = ranksOf(used);
        return { ranks, used == 0 ? std::vector<std::optional<double>>() : slopesAtRanks(list, ranks.ascending()) };
    }
    used = countUsedSlopes(points);
    const PassingBablokRanks ranks = ranksOf(used);
    return { ranks, used == 0 ? std::vector<std::optional<double>>() : selectPairSlopes(points, ranks.ascending()) };
}

/// The median of y - slope x. rests: room to work in, of the points' number
double passingBablokIntercept(std::span<const double> x, std::span<const double> y, double slope, std::vector<double>& rests)
{
    std::ranges::transform(x, y, rests.begin(), [slope](double oneX, double oneY) { return oneY - slope * oneX; });
    const auto middle = rests.begin() + static_cast<std::ptrdiff_t>(rests.size() / 2);
    std::ranges::nth_element(rests, middle);
    return rests.size() % 2 == 1 ? *middle : std::midpoint(*std::max_element(rests.begin(), middle), *middle);
}

base::Done checkPassingBablok(std::span<const double> x, std::span<const double> y, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (const auto checked = checkPairs(x, y, 1); !checked)
        return checked;
    if (x.size() > std::numeric_limits<std::uint32_t>::max())
        return base::badInput("there are too many pairs to compare each with each; give at most four thousand million");
    return {};
}

} // namespace

base::Result<PassingBablok> passingBablok(std::span<const double> x, std::span<const double> y, double confidence)
{
    if (const auto checked = checkPassingBablok(x, y, confidence); !checked)
        return checked.error();
    PassingBablok result;
    const auto [ranks, slopes] = slopesFor(onDecimalGrid(x, y), result.slopes, [&](std::uint64_t used) {
        auto wanted = middleRanks(used);
        addLimitRanks(wanted, used, x.size(), confidence);
        return wanted;
    });
    if (slopes.empty())
        return result;
    result.lowerRank = ranks.lower;
    result.upperRank = ranks.upper;
    const std::size_t middle = ranks.lower ? 1 : 0;
    result.slope = middleSlope(slopes[middle], slopes[middle + 1]);
    if (!result.slope)
        return result;
    std::vector<double> rests(x.size());
    result.intercept = passingBablokIntercept(x, y, *result.slope, rests);
    if (!std::isfinite(*result.intercept))
        return tooFarApart();
    result.linearity = cusumLinearity(x, y, *result.slope, *result.intercept);
    if (ranks.lower && slopes.front() && slopes.back()) {
        result.slopeCi = Interval { *slopes.front(), *slopes.back() };
        result.interceptCi = Interval { passingBablokIntercept(x, y, *slopes.back(), rests),
            passingBablokIntercept(x, y, *slopes.front(), rests) };
        if (!allFinite({ result.interceptCi->lower, result.interceptCi->upper }))
            return tooFarApart();
    }
    return result;
}

std::optional<double> passingBablokSlope(std::span<const double> x, std::span<const double> y)
{
    std::uint64_t used = 0;
    const auto slopes = slopesFor(onDecimalGrid(x, y), used, middleRanks).second;
    return slopes.empty() ? std::nullopt : middleSlope(slopes[0], slopes[1]);
}

CusumLinearity cusumLinearity(std::span<const double> x, std::span<const double> y, double slope, double intercept)
{
    CusumLinearity result;
    std::vector<std::pair<double, int>> points(x.size()); // the place along the line, and 1 above it, -1 below it, or 0
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double rest = y[i] - slope * x[i] - intercept;
        const double rounding = 1e-12 * (std::abs(y[i]) + std::abs(slope * x[i]) + std::abs(intercept));
        const int side = std::abs(rest) <= rounding ? 0 : rest > 0 ? 1 : -1;
        result.above += side > 0 ? 1U : 0U;
        result.below += side < 0 ? 1U : 0U;
        points[i] = { x[i] + slope * y[i], side };
    }
    std::ranges::sort(points);
    const auto above = static_cast<double>(result.above);
    const auto below = static_cast<double>(result.below);
    result.critical = 1.36 * std::sqrt(above + below);
    if (result.above == 0 || result.below == 0)
        return result;
    std::size_t aboveSoFar = 0;
    std::size_t belowSoFar = 0;
    for (std::size_t i = 0; i < points.size(); ++i) {
        aboveSoFar += points[i].second > 0 ? 1U : 0U;
        belowSoFar += points[i].second < 0 ? 1U : 0U;
        const double sum = static_cast<double>(aboveSoFar) * std::sqrt(below / above)
            - static_cast<double>(belowSoFar) * std::sqrt(above / below);
        // Points at one place have no order: the sum is looked at behind the last of them.
        if (i + 1 == points.size() || points[i + 1].first > points[i].first)
            result.largest = std::max(result.largest, std::abs(sum));
    }
    result.linear = result.largest <= result.critical;
    return result;
}

} // namespace mk::stats
