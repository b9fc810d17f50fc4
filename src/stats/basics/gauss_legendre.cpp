// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/gauss_legendre.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace mk::stats {

namespace {

/// A Legendre polynomial and its derivative.
struct LegendreValue {
    double value = 0;
    double slope = 0;
};

LegendreValue legendre(std::size_t degree, double x)
{
    double before = 1;
    double value = x;
    for (std::size_t k = 2; k <= degree; ++k) {
        const auto n = static_cast<double>(k);
        const double next = ((2 * n - 1) * x * value - (n - 1) * before) / n;
        before = value;
        value = next;
    }
    return { value, static_cast<double>(degree) * (x * value - before) / (x * x - 1) };
}

/// The root that lies nearest to Tricomi's estimate.
double legendreRoot(std::size_t degree, std::size_t index)
{
    const auto n = static_cast<double>(degree);
    double x = -std::cos(std::numbers::pi * (static_cast<double>(index) + 0.75) / (n + 0.5));
    for (int step = 0; step < 10; ++step) {
        const LegendreValue at = legendre(degree, x);
        x -= at.value / at.slope;
    }
    return x;
}

} // namespace

Quadrature gaussLegendre(std::size_t count, double lower, double upper)
{
    assert(count >= 1);
    const double half = (upper - lower) / 2;
    const double middle = lower + half;
    Quadrature rule;
    for (std::size_t i = 0; i < count; ++i) {
        const double x = count == 1 ? 0 : legendreRoot(count, i);
        const double slope = legendre(count, x).slope;
        rule.nodes.push_back(middle + half * x);
        rule.weights.push_back(count == 1 ? 2 * half : half * 2 / ((1 - x * x) * slope * slope));
    }
    return rule;
}

} // namespace mk::stats
