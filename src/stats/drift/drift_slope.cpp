// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift_slope.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <string>
#include <vector>

namespace mk::stats {

namespace {

base::Done checkDriftSlopeInput(std::span<const double> time, std::span<const double> value, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (time.size() != value.size())
        return base::badInput("times and values differ in number; give each value its time");
    if (const auto numbers = checkNumbers(time, Numbers::Times); !numbers)
        return numbers.error();
    if (const auto numbers = checkNumbers(value, Numbers::Values); !numbers)
        return numbers.error();
    if (time.size() > kMostDriftPoints)
        return base::badInput("there are %1 points; give at most %2, such as daily means", time.size(), kMostDriftPoints);
    if (std::ranges::all_of(time, [&](double one) { return one == time.front(); }))
        return base::badInput("all values are of one time; a slope needs at least two times");
    return {};
}

std::vector<double> slopesOfPairs(std::span<const double> time, std::span<const double> value)
{
    std::vector<double> slopes;
    slopes.reserve(time.size() * (time.size() - 1) / 2);
    for (std::size_t i = 0; i < time.size(); ++i) {
        for (std::size_t j = i + 1; j < time.size(); ++j) {
            if (time[i] != time[j])
                slopes.push_back((value[j] - value[i]) / (time[j] - time[i]));
        }
    }
    return slopes;
}

/// The variance of Kendall's score when nothing drifts: (n (n - 1) (2n + 5) - sum t (t - 1) (2t + 5)) / 18 over times that t points share.
double kendallVariance(std::span<const double> time)
{
    std::vector<double> sorted(time.begin(), time.end());
    std::ranges::sort(sorted);
    const auto term = [](std::ptrdiff_t points) {
        const auto t = static_cast<double>(points);
        return t * (t - 1) * (2 * t + 5);
    };
    double sum = term(std::ssize(sorted));
    for (auto from = sorted.begin(); from != sorted.end();) {
        const auto to = std::upper_bound(from, sorted.end(), *from);
        sum -= term(to - from);
        from = to;
    }
    return sum / 18;
}

/// The number of this rank (from 0) among them; reorders.
double ofRank(std::vector<double>& numbers, std::size_t rank)
{
    const auto at = numbers.begin() + static_cast<std::ptrdiff_t>(rank);
    std::nth_element(numbers.begin(), at, numbers.end());
    return *at;
}

/// Sen: the slopes of rank (N - C)/2 from both ends, C the quantile of Kendall's score.
std::optional<Interval> senInterval(std::vector<double>& slopes, double variance, double confidence)
{
    const double reach = normalFactor(confidence) * std::sqrt(variance);
    const double rank = std::floor((static_cast<double>(slopes.size()) - reach) / 2);
    if (!(rank >= 1))
        return std::nullopt;
    const auto from = static_cast<std::size_t>(rank);
    return Interval { ofRank(slopes, from - 1), ofRank(slopes, slopes.size() - from) };
}

} // namespace

base::Result<DriftSlope> driftSlope(std::span<const double> time, std::span<const double> value, double confidence)
{
    if (const auto input = checkDriftSlopeInput(time, value, confidence); !input)
        return input.error();
    std::vector<double> slopes = slopesOfPairs(time, value);
    if (!checkNumbers(slopes, Numbers::Values))
        return tooFarApart();
    DriftSlope drift;
    drift.n = time.size();
    drift.pairs = slopes.size();
    drift.slope = median(slopes);
    std::vector<double> rests;
    for (std::size_t i = 0; i < time.size(); ++i)
        rests.push_back(value[i] - drift.slope * time[i]);
    if (!checkNumbers(rests, Numbers::Values))
        return tooFarApart();
    drift.intercept = median(rests);
    drift.slopeCi = senInterval(slopes, kendallVariance(time), confidence);
    return drift;
}

} // namespace mk::stats
