// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/precision/allowance.h"
#include "stats/precision/polynomial_fit.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// From what a level's deviation is counted.
enum class LinearityAgainst {
    Line,    ///< the straight line through all results: deviation from linearity
    Assigned ///< the assigned value itself: a constant or proportional bias counts too
};

/// One assigned value and its results.
/// recoveryPercent    100 mean / assigned; nothing at 0
/// line               the fitted line at this level
/// deviation          mean less the line, or less the assigned value; deviationPercent of the assigned value, nothing at 0
/// allowed, met       nothing without an allowance
struct LinearityLevel {
    double assigned = 0;
    std::size_t n = 0;
    double mean = 0;
    std::optional<double> recoveryPercent;
    double line = 0;
    double deviation = 0;
    std::optional<double> deviationPercent;
    std::optional<double> allowed;
    std::optional<bool> met;
};

/// Whether a coefficient of x^2 or x^3 differs from 0. power: 2 or 3
/// t, pValue      two-sided with the fit's df; nothing when the residuals are rounding only
/// significant    pValue < 0.05; where there is none: the straight line misses results that this curve meets exactly
struct CurvatureTest {
    int power = 2;
    std::optional<double> t;
    std::optional<double> pValue;
    bool significant = false;
};

/// A polynomial of order 1 to 3 through all results.
/// tests         of b2, b3; none for order 1
/// deviations    polynomial less line at each level, in the order of the levels
struct LinearityFit {
    int order = 1;
    PolynomialFit fit;
    std::vector<CurvatureTest> tests;
    std::vector<double> deviations;
};

/// slope, intercept        of the unweighted least-squares line through all results
/// repeatabilitySd         pooled over the levels; nothing without replicates. repeatabilityDf its degrees of freedom
/// levels                  by assigned value, rising
/// fits                    orders 1 to 3, as far as there are levels (order + 1) and results (order + 2)
/// curvedOrder             the order with a significant coefficient of x^2 or x^3 and the smallest residual SD; nothing when there is none:
///                         nothing speaks against a straight line
/// met                     every level met; nothing without an allowance
struct Linearity {
    double slope = 0;
    double intercept = 0;
    std::optional<double> repeatabilitySd;
    std::size_t repeatabilityDf = 0;
    std::vector<LinearityLevel> levels;
    std::vector<LinearityFit> fits;
    std::optional<int> curvedOrder;
    std::optional<bool> met;
};

/// assigned, value   [n] each, any order; results of one level have exactly the same assigned value
/// allowance         of the assigned value
/// errors            BadInput: other lengths, numbers that are not finite or too large, an allowance below 0, fewer than three levels,
///                   a percentage alone with a level of 0
/// source            recovery and straight line: common; polynomial tests: EP06-A (from memory): orders 1 to 3 are fitted and b2, b3 tested
base::Result<Linearity> linearityOf(
    std::span<const double> assigned, std::span<const double> value, const Allowance& allowance, LinearityAgainst against);

} // namespace mk::stats
