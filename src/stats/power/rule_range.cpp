// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_range.h"

#include "stats/basics/distributions.h"
#include "stats/basics/gauss_legendre.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

constexpr double kRangeLimit = 4;
constexpr double kRangeTail = 9.5; // beyond it lies less than 1e-20
constexpr std::size_t kRangeNodes = 20;

/// Where the integrand over the lowest result is not smooth, and steps of one SD between.
std::vector<double> rangeBreaks(const std::vector<ScoreZone>& zones, const MethodError& error)
{
    const double lowest = error.shift - kRangeTail * error.random;
    const double highest = error.shift + kRangeTail * error.random;
    std::vector<double> breaks = { lowest, highest };
    constexpr int kSteps = 19; // counted, since a step may be lost in the rounding of a large shift
    static_assert(kSteps == 2 * kRangeTail);
    for (int step = 1; step < kSteps; ++step)
        breaks.push_back(lowest + step * error.random);
    for (const ScoreZone& zone : zones) {
        for (const double x : { zone.upper, zone.upper - kRangeLimit }) {
            if (x > lowest && x < highest)
                breaks.push_back(x);
        }
    }
    std::ranges::sort(breaks);
    return breaks;
}

/// A place of the lowest result: its zone, its chance, and for each zone the chance of another result there, at most 4 above it.
struct LowestResult {
    std::size_t zone = 0;
    double weight = 0;
    std::vector<double> others;
};

LowestResult lowestResult(double x, double weight, const std::vector<ScoreZone>& zones, const MethodError& error)
{
    LowestResult lowest;
    lowest.weight = weight * normalDensity((x - error.shift) / error.random) / error.random;
    for (const ScoreZone& zone : zones) {
        if (x > zone.upper)
            ++lowest.zone;
        const double lower = std::max(x, zone.lower);
        const double upper = std::min(x + kRangeLimit, zone.upper);
        lowest.others.push_back(
            lower < upper ? normalBetween((lower - error.shift) / error.random, (upper - error.shift) / error.random) : 0);
    }
    return lowest;
}

/// Adds a place of the lowest result to every combination of zones in which one of the levels can have it.
void addLowestResult(std::vector<double>& chances, const LowestResult& lowest, std::size_t levels)
{
    const std::size_t zones = lowest.others.size();
    for (std::size_t i = 0; i < chances.size(); ++i) {
        double withLowest = 0; // sum over the level that has it
        double without = 1;
        std::size_t rest = i;
        for (std::size_t level = 0; level < levels; ++level, rest /= zones) {
            const std::size_t zone = rest % zones;
            withLowest = withLowest * lowest.others[zone] + (zone == lowest.zone ? without : 0);
            without *= lowest.others[zone];
        }
        chances[i] += lowest.weight * withLowest;
    }
}

} // namespace

std::vector<double> chancesWithinFour(const std::vector<ScoreZone>& zones, std::size_t levels, const MethodError& error)
{
    std::vector<double> all = { 1.0 };
    for (std::size_t level = 0; level < levels; ++level) {
        std::vector<double> longer;
        for (const double chance : all) {
            for (const ScoreZone& zone : zones)
                longer.push_back(
                    chance * normalBetween((zone.lower - error.shift) / error.random, (zone.upper - error.shift) / error.random));
        }
        all = std::move(longer);
    }

    std::vector<double> within(all.size(), 0.0);
    const std::vector<double> breaks = rangeBreaks(zones, error);
    for (std::size_t i = 0; i + 1 < breaks.size(); ++i) {
        const Quadrature rule = gaussLegendre(kRangeNodes, breaks[i], breaks[i + 1]);
        for (std::size_t node = 0; node < rule.nodes.size(); ++node)
            addLowestResult(within, lowestResult(rule.nodes[node], rule.weights[node], zones, error), levels);
    }
    for (std::size_t i = 0; i < all.size(); ++i)
        within[i] = all[i] > 0 ? std::clamp(within[i] / all[i], 0.0, 1.0) : 1.0;
    return within;
}

} // namespace mk::stats
