// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/summary.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

namespace mk::stats {

namespace {

/// Boost answers with NaN or infinity instead of throwing; the caller looks for them.
using SummaryPolicy = boost::math::policies::policy<boost::math::policies::domain_error<boost::math::policies::ignore_error>,
    boost::math::policies::overflow_error<boost::math::policies::ignore_error>,
    boost::math::policies::evaluation_error<boost::math::policies::ignore_error>>;
using SummaryStudentsT = boost::math::students_t_distribution<double, SummaryPolicy>;
using SummaryChiSquared = boost::math::chi_squared_distribution<double, SummaryPolicy>;

base::Done checkSummaryInput(std::span<const double> values, double confidence)
{
    if (!(confidence > 0 && confidence < 1))
        return base::badInput("the confidence must lie between 0 and 1, such as 0.95");
    if (values.empty())
        return base::badInput("there are no values to summarize; give at least one");
    const auto odd = std::ranges::find_if_not(values, [](double value) { return std::isfinite(value); });
    if (odd != values.end())
        return base::badInput("value " + std::to_string(odd - values.begin() + 1) + " is not a finite number; correct it or leave it out");
    return {};
}

constexpr std::size_t kSumLanes = 8; ///< sums that run side by side
constexpr std::size_t kSumBlock = 2048; ///< values that a lane's sum takes at most before it is put by

/// Calls `one(lane, value)` for every value and `put()` after each block. Lanes keep a sum from waiting for the one before.
template <typename One, typename Put> void forLanes(std::span<const double> values, One one, Put put)
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
    const double tail = (1 - confidence) / 2;
    const double sd = std::sqrt(squares / df);
    const double half
        = boost::math::quantile(boost::math::complement(SummaryStudentsT(df), tail)) * sd / std::sqrt(static_cast<double>(summary.n));
    const SummaryChiSquared chi(df);
    summary.sd = sd;
    if (summary.mean != 0)
        summary.cvPercent = 100 * sd / summary.mean;
    summary.meanCi = Interval { summary.mean - half, summary.mean + half };
    summary.sdCi = Interval { sd * std::sqrt(df / boost::math::quantile(boost::math::complement(chi, tail))),
        sd * std::sqrt(df / boost::math::quantile(chi, tail)) };
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
    return { values.size(), static_cast<double>(around + deviations.total / n),
        static_cast<double>(corrected < 0 ? 0 : corrected), lowest,
        highest };
}

base::Result<Summary> summarize(std::span<const double> values, double confidence)
{
    if (const auto input = checkSummaryInput(values, confidence); !input)
        return input.error();
    const Moments all = moments(values);
    if (!std::isfinite(all.squares))
        return base::badInput("the values are too far apart to compute with; look for a slip in them");
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
