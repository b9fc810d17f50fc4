// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

namespace mk::stats {

/// Where to look at a function, and how much each look counts. nodes, weights: of one length, nodes ascending
struct Quadrature {
    std::vector<double> nodes;
    std::vector<double> weights;
};

/// The Gauss-Legendre rule: the sum of weight times f(node) is the integral of f from lower to upper, exact for polynomials up to
/// degree 2 count - 1.
/// count    >= 1
/// source   roots of the Legendre polynomial by Newton's method (Abramowitz & Stegun 25.4.30)
Quadrature gaussLegendre(std::size_t count, double lower, double upper);

} // namespace mk::stats
