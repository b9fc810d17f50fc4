// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/summary.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>
#include <vector>

namespace mk::stats {

namespace {

constexpr std::size_t kSumLanes = 8;    ///< sums that run side by side
constexpr std::size_t kSumBlock = 2048; ///< values that a lane's sum takes at most before it is put by

/// Calls `one(lane, value)` for every value and `put()` after each block. Lanes keep a sum from waiting for the one before.
template <typename One, typename Put>
void forLanes(std::span<const double> values, One one, Put put)
{
    while (!values.empty()) {
        const auto block = values.first(std::min(values.size(), kSumBlock));
        std::size_t i = 0;
        for (; i + kSumLanes <= block.size(); i += kSumLanes) {
            for (std::size_t lane = 0; lane < kSumLanes; ++lane)
                one(lane, block[i + lane]);
        }
        for (std::size_t lane = 0; i + lane < block.size(); ++lane)
            one(lane, block[i + lane]);
        put();
        values = values.subspan(block.size());
    }
}

/// One sum a lane; across blocks in long double, so that neither rounding nor n shows in the result.
struct LaneSum {
    std::array<double, kSumLanes> lanes {};
    long double total = 0;

    void put()
    {
        for (double& lane : lanes)
            total += std::exchange(lane, 0.0);
    }
};

void addSummarySpread(Summary& summary, double squares, double confidence)
{
    const double df = static_cast<double>(summary.n) - 1;
    const double sd = std::sqrt(squares / df);
    summary.sd = sd;
    if (summary.mean != 0)
        summary.cvPercent = 100 * sd / summary.mean;
    summary.meanCi = studentInterval(summary.mean, sd / std::sqrt(static_cast<double>(summary.n)), df, confidence);
    summary.sdCi = sdInterval(sd, df, confidence);
}

} // namespace

Moments moments(std::span<const double> values)
{
    assert(!values.empty());
    const auto n = static_cast<long double>(values.size());
    std::array<double, kSumLanes> least, most;
    least.fill(values[0]);
    most.fill(values[0]);
    LaneSum sum;
    forLanes(
        values,
        [&](std::size_t lane, double value) {
            sum.lanes[lane] += value;
            least[lane] = value < least[lane] ? value : least[lane];
            most[lane] = value > most[lane] ? value : most[lane];
        },
        [&] { sum.put(); });
    const double lowest = *std::ranges::min_element(least);
    const double highest = *std::ranges::max_element(most);
    if (lowest == highest)
        return { values.size(), lowest, std::isfinite(sum.total) ? 0 : std::numeric_limits<double>::infinity(), lowest, highest };
    const long double first = sum.total / n;
    const auto around = static_cast<double>(first);
    LaneSum deviations, squares;
    forLanes(
        values,
        [&](std::size_t lane, double value) {
            const double deviation = value - around;
            deviations.lanes[lane] += deviation;
            squares.lanes[lane] += deviation * deviation;
        },
        [&] {
            deviations.put();
            squares.put();
        });
    // Rounding must not leave a sum of squares below 0; what is not a number stays none.
    const long double corrected = squares.total - deviations.total * deviations.total / n;
    return { values.size(), static_cast<double>(around + deviations.total / n), static_cast<double>(corrected < 0 ? 0 : corrected), lowest,
        highest };
}

base::Result<Summary> summarize(std::span<const double> values, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (const auto numbers = checkNumbers(values, Numbers::Values); !numbers)
        return numbers.error();
    const Moments all = moments(values);
    if (!std::isfinite(all.squares))
        return tooFarApart();
    Summary summary;
    summary.n = all.n;
    summary.mean = all.mean;
    summary.median = median(values);
    summary.min = all.min;
    summary.max = all.max;
    if (summary.n >= 2)
        addSummarySpread(summary, all.squares, confidence);
    return summary;
}

double median(std::span<const double> values)
{
    assert(!values.empty());
    std::vector<double> sorted(values.begin(), values.end());
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::ranges::nth_element(sorted, middle);
    if (sorted.size() % 2 == 1)
        return *middle;
    const double below = *std::max_element(sorted.begin(), middle);
    return std::midpoint(below, *middle);
}

} // namespace mk::stats
