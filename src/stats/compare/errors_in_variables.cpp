// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/errors_in_variables.h"

#include "stats/compare/least_squares.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

/// Points with the variances of their errors.
struct YorkPoints {
    std::span<const double> x;
    std::span<const double> y;
    std::span<const double> sdX;
    std::span<const double> sdY;

    double varianceX(std::size_t i) const { return sdX[i] * sdX[i]; }
    double varianceY(std::size_t i) const { return sdY[i] * sdY[i]; }
    /// W of the paper: the inverse variance of y - slope x.
    double weight(std::size_t i, double slope) const { return 1 / (varianceY(i) + slope * slope * varianceX(i)); }
};

/// The weighted means at a slope.
struct YorkMeans {
    double weight = 0;
    double x = 0;
    double y = 0;
};

YorkMeans yorkMeans(const YorkPoints& points, double slope)
{
    YorkMeans means;
    for (std::size_t i = 0; i < points.x.size(); ++i) {
        const double weight = points.weight(i, slope);
        means.weight += weight;
        means.x += weight * (points.x[i] - points.x[0]);
        means.y += weight * (points.y[i] - points.y[0]);
    }
    means.x = points.x[0] + means.x / means.weight;
    means.y = points.y[0] + means.y / means.weight;
    return means;
}

/// beta of the paper: how far along x the fitted point lies from the mean.
double yorkAlong(const YorkPoints& points, const YorkMeans& means, double slope, std::size_t i)
{
    const double u = points.x[i] - means.x;
    const double v = points.y[i] - means.y;
    return points.weight(i, slope) * (u * points.varianceY(i) + slope * v * points.varianceX(i));
}

double yorkNextSlope(const YorkPoints& points, double slope)
{
    const YorkMeans means = yorkMeans(points, slope);
    double above = 0;
    double below = 0;
    for (std::size_t i = 0; i < points.x.size(); ++i) {
        const double along = points.weight(i, slope) * yorkAlong(points, means, slope, i);
        above += along * (points.y[i] - means.y);
        below += along * (points.x[i] - means.x);
    }
    return above / below;
}

std::optional<double> yorkSlope(const YorkPoints& points, double start)
{
    constexpr int kMostRounds = 1000;
    constexpr double kStill = 1e-14;
    double slope = start;
    for (int round = 0; round < kMostRounds; ++round) {
        const double next = yorkNextSlope(points, slope);
        if (!std::isfinite(next))
            return std::nullopt;
        const bool still = std::abs(next - slope) <= kStill * std::abs(next);
        slope = next;
        if (still)
            return slope;
    }
    return std::nullopt;
}

ErrorsInVariables yorkResult(const YorkPoints& points, double slope)
{
    const YorkMeans means = yorkMeans(points, slope);
    const std::size_t n = points.x.size();
    ErrorsInVariables fit;
    fit.line = { slope, means.y - slope * means.x };
    double along = 0;
    for (std::size_t i = 0; i < n; ++i)
        along += points.weight(i, slope) * yorkAlong(points, means, slope, i);
    const double middle = along / means.weight;
    double squares = 0;
    for (std::size_t i = 0; i < n; ++i) {
        const double weight = points.weight(i, slope);
        const double u = yorkAlong(points, means, slope, i) - middle;
        const double rest = (points.y[i] - means.y) - slope * (points.x[i] - means.x);
        squares += weight * u * u;
        fit.chiSquare += weight * rest * rest;
    }
    const double centre = means.x + middle;
    fit.slopeError = std::sqrt(1 / squares);
    fit.interceptError = std::sqrt(1 / means.weight + centre * centre / squares);
    if (n > 2)
        fit.reducedChiSquare = fit.chiSquare / static_cast<double>(n - 2);
    return fit;
}

base::Done checkYork(const YorkPoints& points)
{
    if (const auto checked = checkPairs(points.x, points.y, 2); !checked)
        return checked;
    if (points.sdX.size() != points.x.size())
        return faultOfPairs(points.sdX, points.x);
    if (const auto checked = checkPairs(points.sdX, points.sdY, 2); !checked)
        return checked;
    // An SD whose square vanishes or overflows is no better than one of 0.
    const auto usable = [](double sd) { return sd > 0 && std::isnormal(sd * sd) && std::isnormal(1 / (sd * sd)); };
    if (!std::ranges::all_of(points.sdX, usable) || !std::ranges::all_of(points.sdY, usable))
        return base::badInput("an SD of a point is not above 0; give the SD of every coordinate's error");
    return {};
}

} // namespace

base::Result<ErrorsInVariables> errorsInVariables(
    std::span<const double> x, std::span<const double> y, std::span<const double> sdX, std::span<const double> sdY)
{
    const YorkPoints points { x, y, sdX, sdY };
    if (const auto checked = checkYork(points); !checked)
        return checked.error();
    const auto start = leastSquares(x, y);
    if (!start)
        return start.error();
    const auto slope = start->line ? yorkSlope(points, start->line->slope) : std::nullopt;
    if (!slope)
        return base::badInput("these points do not settle on one line; give more of them, over a wider range");
    return yorkResult(points, *slope);
}

} // namespace mk::stats
