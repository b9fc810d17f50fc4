// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// A polynomial y = b0 + b1 x + … fitted by least squares.
/// coefficients     [order + 1] b0 first, in units of y over units of x to their power
/// standardErrors   [order + 1] of the coefficients, in their units
/// residualSd       sqrt(sum of squared residuals / df), in units of y
/// df               n - order - 1, at least 1
/// rSquared         1 - residual over total sum of squares; nothing when all y are equal
struct PolynomialFit {
    std::vector<double> coefficients;
    std::vector<double> standardErrors;
    double residualSd = 0;
    std::size_t df = 0;
    std::optional<double> rSquared;
};

/// Unweighted least squares by polynomials made orthogonal over the x that are given, in long double.
/// x, y     [n >= order + 2], any order, x may repeat; not reordered
/// order    1, 2 or 3
/// errors   BadInput: another order, columns of different lengths, too few pairs, a number that is not finite, fewer than
///          order + 1 different x, coefficients too large for a double
/// source   Forsythe, J Soc Ind Appl Math 1957;5:74, orthogonalized twice; accuracy held against NIST StRD Norris and Pontius
base::Result<PolynomialFit> fitPolynomial(std::span<const double> x, std::span<const double> y, int order);

} // namespace mk::stats
