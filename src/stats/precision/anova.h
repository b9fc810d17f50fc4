// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// One line of an analysis of variance. ms = ss / df
struct AnovaSource {
    std::size_t df = 0;
    double ss = 0;
    double ms = 0;
};

struct AnovaGroup {
    std::size_t n = 0;
    double mean = 0;
};

/// One-way analysis of variance.
/// f            between.ms / within.ms; with pValue, the upper tail of F; nothing when no group varies within itself
/// rSquared     between.ss / (between.ss + within.ss); nothing when all values are the same
/// residualSd   sqrt(within.ms), in the units of the data
/// groups       by their number
struct Anova {
    AnovaSource between;
    AnovaSource within;
    std::optional<double> f;
    std::optional<double> pValue;
    std::optional<double> rSquared;
    double residualSd = 0;
    double mean = 0;
    std::vector<AnovaGroup> groups;
};

/// group    [n], the number of each value's group: every number from 0 to the largest is used
/// values   [n], in any order
/// origin   where the values are given as distances from it (so that decimals keep their digits): added to the means, nothing else
/// errors   BadInput: another length of the two, a value that is not a finite number or too large, fewer than two groups, no group
///          with two values, a group number that no value has
/// source   the usual sums of squares: sum n_i (mean_i - mean)^2 and sum (x - mean_i)^2, of x less the first value, in two passes
base::Result<Anova> oneWayAnova(std::span<const std::size_t> group, std::span<const double> values, double origin = 0);

} // namespace mk::stats
