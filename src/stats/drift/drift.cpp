// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift.h"

#include <cassert>
#include <cmath>

namespace mk::stats {

namespace {

/// In SD. A sum or average this close to its limit, or a sum this close to 0, stands on it: typed decimals meet limits exactly,
/// and binary rounding must neither raise a signal nor stretch an excursion.
constexpr double kDriftRounding = 1e-9;

/// Half the distance between the EWMA limits after n observations, in SD of one observation.
double ewmaHalfWidth(double lambda, double width, double n)
{
    return width * std::sqrt(lambda / (2 - lambda) * (1 - std::pow(1 - lambda, 2 * n)));
}

double ewmaSteadyHalfWidth(double lambda, double width)
{
    return width * std::sqrt(lambda / (2 - lambda));
}

double ewmaNext(double average, double observation, double lambda)
{
    return lambda * observation + (1 - lambda) * average;
}

double cusumNext(double sum, double towards, double k)
{
    const double next = sum + (towards - k); // only one addition waits for the sum before
    return next > kDriftRounding ? next : 0.0;
}

bool driftExceeds(double size, double limit)
{
    return size > limit + kDriftRounding;
}

/// Where the excursion that stands at `at` left 0; both count from 1, and the sum at `at` is above 0.
std::size_t cusumExcursionStart(std::span<const double> sums, std::size_t at)
{
    while (at > 1 && sums[at - 2] > 0)
        --at;
    return at;
}

} // namespace

void ewmaAverages(std::span<const double> values, double target, double lambda, std::span<double> averages)
{
    assert(averages.size() == values.size());
    double average = target;
    for (std::size_t i = 0; i < values.size(); ++i) {
        average = ewmaNext(average, values[i], lambda);
        averages[i] = average;
    }
}

void cusumSums(std::span<const double> values, double target, double sd, double k, std::span<double> high, std::span<double> low)
{
    assert(sd > 0 && high.size() == values.size() && low.size() == values.size());
    // Both sums in one register: which of them falls back to 0 cannot be foretold, so a branch for each costs more than all the rest.
    using Sums = double __attribute__((vector_size(2 * sizeof(double))));
    const Sums rounding = { kDriftRounding, kDriftRounding };
    Sums sums = { 0, 0 };
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double z = (values[i] - target) / sd;
        const Sums next = sums + Sums { z - k, -z - k };
        sums = next > rounding ? next : Sums { 0, 0 }; // as cusumNext
        high[i] = sums[0];
        low[i] = sums[1];
    }
}

EwmaChart ewmaChart(std::span<const double> values, double target, double sd, double lambda, double width, EwmaLimits limits)
{
    assert(sd > 0 && lambda > 0 && lambda <= 1 && width > 0);
    const std::size_t n = values.size();
    EwmaChart chart { std::vector<double>(n), std::vector<double>(n), std::vector<double>(n), {} };
    ewmaAverages(values, target, lambda, chart.values);
    const double steady = ewmaSteadyHalfWidth(lambda, width);
    double half = 0;
    for (std::size_t i = 0; i < n; ++i) {
        if (half != steady) // once there, exact limits stay
            half = limits == EwmaLimits::Steady ? steady : ewmaHalfWidth(lambda, width, static_cast<double>(i + 1));
        chart.lower[i] = target - half * sd;
        chart.upper[i] = target + half * sd;
        if (driftExceeds(std::fabs(chart.values[i] - target) / sd, half))
            chart.signalled.push_back(i + 1);
    }
    return chart;
}

CusumChart cusumChart(std::span<const double> values, double target, double sd, double k, double h)
{
    assert(sd > 0 && k >= 0 && h > 0);
    CusumChart chart;
    chart.high.resize(values.size());
    chart.low.resize(values.size());
    cusumSums(values, target, sd, k, chart.high, chart.low);
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (driftExceeds(chart.high[i], h) || driftExceeds(chart.low[i], h))
            chart.signalled.push_back(i + 1);
    }
    if (!chart.signalled.empty()) {
        const std::size_t first = chart.signalled.front();
        const bool fromHigh = driftExceeds(chart.high[first - 1], h);
        chart.began = cusumExcursionStart(fromHigh ? chart.high : chart.low, first);
    }
    return chart;
}

DriftSignals advance(DriftState& state, double z, const DriftSettings& settings)
{
    assert(std::isfinite(z));
    ++state.n;
    state.ewma = ewmaNext(state.ewma, z, settings.lambda);
    state.cusumHigh = cusumNext(state.cusumHigh, z, settings.k);
    state.cusumLow = cusumNext(state.cusumLow, -z, settings.k);
    const double limit = ewmaHalfWidth(settings.lambda, settings.width, static_cast<double>(state.n));
    return { driftExceeds(state.ewma, limit), driftExceeds(-state.ewma, limit), driftExceeds(state.cusumHigh, settings.h),
        driftExceeds(state.cusumLow, settings.h) };
}

double combinedScore(std::span<const double> z)
{
    assert(!z.empty());
    double sum = 0;
    for (const double score : z)
        sum += score;
    return sum / std::sqrt(static_cast<double>(z.size()));
}

} // namespace mk::stats
