// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/weighted_deming.h"

#include "stats/basics/jackknife.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

namespace mk::stats {

namespace {

constexpr std::size_t kNoPair = std::numeric_limits<std::size_t>::max();

/// Pairs to fit, all or all but one.
struct WeightedDemingPairs {
    std::span<const double> x;
    std::span<const double> y;
    double errorRatio = 1;
    std::size_t without = kNoPair;

    template <typename Use>
    void forEach(Use use) const
    {
        for (std::size_t i = 0; i < x.size(); ++i) {
            if (i != without)
                use(x[i], y[i]);
        }
    }
};

/// The weight of a pair: the inverse square of its level on the line.
double weightedDemingWeight(const StraightLine& line, double errorRatio, double x, double y)
{
    const double distance = y - line.at(x);
    const double denominator = 1 + errorRatio * line.slope * line.slope;
    const double levelX = x + errorRatio * line.slope * distance / denominator;
    const double levelY = y - distance / denominator;
    const double level = (levelX + errorRatio * levelY) / (1 + errorRatio);
    return 1 / (level * level);
}

/// Deming's line with the weights that another line gives.
std::optional<StraightLine> nextWeightedDeming(const WeightedDemingPairs& pairs, const StraightLine& line)
{
    const auto weightOf = [&](double x, double y) { return weightedDemingWeight(line, pairs.errorRatio, x, y); };
    PairMoments moments;
    double total = 0;
    pairs.forEach([&](double x, double y) {
        const double weight = weightOf(x, y);
        total += weight;
        moments.meanX += weight * x;
        moments.meanY += weight * y;
    });
    moments.meanX /= total;
    moments.meanY /= total;
    pairs.forEach([&](double x, double y) {
        const double weight = weightOf(x, y);
        moments.sxx += weight * (x - moments.meanX) * (x - moments.meanX);
        moments.syy += weight * (y - moments.meanY) * (y - moments.meanY);
        moments.sxy += weight * (x - moments.meanX) * (y - moments.meanY);
    });
    return demingLine(moments, pairs.errorRatio);
}

/// Renews weights and line until it stands still.
std::optional<StraightLine> settledWeightedDeming(
    const WeightedDemingPairs& pairs, const std::optional<StraightLine>& start, double meanX, double meanY)
{
    constexpr int kMostRounds = 500;
    constexpr double kStill = 1e-10;
    auto line = start;
    for (int round = 0; round < kMostRounds && line; ++round) {
        const auto next = nextWeightedDeming(pairs, *line);
        if (next && std::abs(next->slope - line->slope) * meanX <= kStill * meanY
            && std::abs(next->intercept - line->intercept) <= kStill * meanY)
            return next;
        line = next;
    }
    return std::nullopt;
}

base::Done checkAboveZero(std::span<const double> values)
{
    const auto odd = std::ranges::find_if_not(values, [](double value) { return value > 0; });
    if (odd == values.end())
        return {};
    return base::badInput(
        "pair %1 holds a number that is not above 0, which can have no constant CV; leave it out or use the unweighted line",
        odd - values.begin() + 1);
}

} // namespace

base::Result<Deming> weightedDeming(std::span<const double> x, std::span<const double> y, double errorRatio, double confidence)
{
    if (const auto checked = checkDeming(errorRatio, confidence); !checked)
        return checked.error();
    const auto moments = pairMoments(x, y);
    if (!moments)
        return moments.error();
    for (const auto column : { x, y }) {
        if (const auto checked = checkAboveZero(column); !checked)
            return checked.error();
    }
    WeightedDemingPairs pairs { x, y, errorRatio, kNoPair };
    const auto line = settledWeightedDeming(pairs, demingLine(*moments, errorRatio), moments->meanX, moments->meanY);
    if (!line)
        return Deming {};
    const auto uncertainty = jackknifeLine(*line, moments->meanX, x.size(), [&](std::size_t i) {
        pairs.without = i;
        return settledWeightedDeming(pairs, line, moments->meanX, moments->meanY);
    });
    return demingWithIntervals(line, uncertainty, confidence);
}

} // namespace mk::stats
