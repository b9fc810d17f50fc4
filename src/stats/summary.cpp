// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/summary.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <string>
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

/// Sums are long double, so that neither rounding nor a large common offset shows in the result.
long double summaryMean(std::span<const double> values)
{
    const auto n = static_cast<long double>(values.size());
    long double sum = 0;
    for (const double value : values)
        sum += value;
    const long double first = sum / n;
    long double rest = 0;
    for (const double value : values)
        rest += value - first;
    return first + rest / n;
}

long double summarySquares(std::span<const double> values, long double mean)
{
    long double squares = 0;
    for (const double value : values)
        squares += (value - mean) * (value - mean);
    return squares;
}

void addSummarySpread(Summary& summary, long double squares, double confidence)
{
    const double df = static_cast<double>(summary.n) - 1;
    const double tail = (1 - confidence) / 2;
    const double sd = static_cast<double>(std::sqrt(squares / static_cast<long double>(df)));
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

base::Result<Summary> summarize(std::span<const double> values, double confidence)
{
    if (const auto input = checkSummaryInput(values, confidence); !input)
        return input.error();
    const long double mean = summaryMean(values);
    Summary summary;
    summary.n = values.size();
    summary.mean = static_cast<double>(mean);
    summary.median = median(values);
    summary.min = *std::ranges::min_element(values);
    summary.max = *std::ranges::max_element(values);
    if (summary.n >= 2)
        addSummarySpread(summary, summarySquares(values, mean), confidence);
    if (summary.sd && !std::isfinite(*summary.sd))
        return base::badInput("the values are too far apart to compute with; look for a slip in them");
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
