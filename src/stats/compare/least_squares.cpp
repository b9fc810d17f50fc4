// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/least_squares.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

/// What the sums of a weighted fit say; about the weighted means.
struct LeastSquaresSums {
    long double weight = 0;
    long double meanX = 0;
    long double meanY = 0;
    long double sxx = 0;
    long double syy = 0;
    long double sxy = 0;
};

base::Done checkLeastSquares(std::span<const double> x, std::span<const double> y, std::span<const double> weights, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (const auto checked = checkPairs(x, y, 1); !checked)
        return checked;
    if (!weights.empty() && weights.size() != x.size())
        return base::badInput("there are %1 weights for %2 pairs; give one for each", weights.size(), x.size());
    const auto odd = std::ranges::find_if_not(weights, [](double weight) { return weight > 0 && std::isfinite(weight); });
    if (odd != weights.end())
        return base::badInput("weight %1 is not a number above 0; correct it or leave the pair out", odd - weights.begin() + 1);
    return {};
}

template <typename WeightOf>
LeastSquaresSums leastSquaresSums(std::span<const double> x, std::span<const double> y, WeightOf weightOf)
{
    LeastSquaresSums sums;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const long double weight = weightOf(i);
        sums.weight += weight;
        sums.meanX += weight * (static_cast<long double>(x[i]) - x[0]);
        sums.meanY += weight * (static_cast<long double>(y[i]) - y[0]);
    }
    sums.meanX = x[0] + sums.meanX / sums.weight;
    sums.meanY = y[0] + sums.meanY / sums.weight;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const long double dx = x[i] - sums.meanX;
        const long double dy = y[i] - sums.meanY;
        sums.sxx += weightOf(i) * dx * dx;
        sums.syy += weightOf(i) * dy * dy;
        sums.sxy += weightOf(i) * dx * dy;
    }
    return sums;
}

/// Sum of the weighted squared residuals, from the residuals themselves: syy - sxy²/sxx would cancel.
template <typename WeightOf>
long double residualSquares(
    std::span<const double> x, std::span<const double> y, const LeastSquaresSums& sums, long double slope, WeightOf weightOf)
{
    long double squares = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const long double rest = (y[i] - sums.meanY) - slope * (x[i] - sums.meanX);
        squares += weightOf(i) * rest * rest;
    }
    return squares;
}

void addLeastSquaresErrors(LeastSquares& fit, const LeastSquaresSums& sums, long double squares, double df, double confidence)
{
    const long double variance = squares / df;
    const LineUncertainty error { static_cast<double>(sums.meanX), static_cast<double>(variance / sums.sxx),
        static_cast<double>(variance / sums.weight), 0, df };
    fit.residualSd = static_cast<double>(std::sqrt(variance));
    fit.uncertainty = error;
    fit.slopeCi = studentInterval(fit.line->slope, error.slopeError(), df, confidence);
    fit.interceptCi = studentInterval(fit.line->intercept, error.errorAt(0), df, confidence);
}

} // namespace

base::Result<LeastSquares> leastSquares(
    std::span<const double> x, std::span<const double> y, std::span<const double> weights, double confidence)
{
    if (const auto checked = checkLeastSquares(x, y, weights, confidence); !checked)
        return checked.error();
    const auto weightOf = [weights](std::size_t i) { return weights.empty() ? 1.0L : static_cast<long double>(weights[i]); };
    const LeastSquaresSums sums = leastSquaresSums(x, y, weightOf);
    LeastSquares fit;
    if (!(sums.sxx > 0))
        return fit;
    const long double slope = sums.sxy / sums.sxx;
    fit.line = StraightLine { static_cast<double>(slope), static_cast<double>(sums.meanY - slope * sums.meanX) };
    if (!std::isfinite(fit.line->slope) || !std::isfinite(fit.line->intercept))
        return faultOfPairs(x, y);
    if (sums.syy > 0) {
        fit.r = static_cast<double>(sums.sxy / (std::sqrt(sums.sxx) * std::sqrt(sums.syy)));
        fit.rSquared = static_cast<double>(sums.sxy / sums.sxx * (sums.sxy / sums.syy));
    }
    if (x.size() >= 3)
        addLeastSquaresErrors(fit, sums, residualSquares(x, y, sums, slope, weightOf), static_cast<double>(x.size() - 2), confidence);
    return fit;
}

} // namespace mk::stats
