// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// One line of the nested analysis of variance and the component of variance that it gives.
/// df, ss, ms    of the mean square; the component of repeatability is its own mean square
/// varianceRaw   as estimated, in squared units of the data: may be negative
/// variance      varianceRaw, or 0 where that is negative; sd its root
/// cvPercent     100 sd / mean; nothing with a mean of 0
struct PrecisionComponent {
    std::size_t df = 0;
    double ss = 0;
    double ms = 0;
    double varianceRaw = 0;
    double variance = 0;
    double sd = 0;
    std::optional<double> cvPercent;
};

/// Everything that varies within one laboratory over days: the sum of the components that are not negative.
/// df      Satterthwaite, of the combination of mean squares that this sum is; nothing, nor an interval, when nothing varies
/// sdCi    chi-square interval with that df
struct WithinLaboratory {
    double variance = 0;
    double sd = 0;
    std::optional<double> cvPercent;
    std::optional<double> df;
    std::optional<Interval> sdCi;
};

/// betweenRun          nothing when runs are not given or no day has two
/// betweenDay          nothing with one day only; then within-laboratory cannot be told either
/// balanced            every day has as many runs and every run as many results
/// dayMeans            by the number of the day
/// repeatabilitySdCi   chi-square interval
struct Precision {
    std::size_t n = 0;
    std::size_t runs = 0;
    bool balanced = false;
    double mean = 0;
    PrecisionComponent repeatability;
    Interval repeatabilitySdCi;
    std::optional<PrecisionComponent> betweenRun;
    std::optional<PrecisionComponent> betweenDay;
    std::optional<WithinLaboratory> withinLaboratory;
    std::vector<double> dayMeans;
};

/// day, run, value   [n] each; run may be empty: results are then nested in days only. Run numbers are read within their day
/// day               every number from 0 to the largest is used; run: any numbers
/// origin            where the values are given as distances from it: added to the means
struct PrecisionData {
    std::span<const std::size_t> day;
    std::span<const std::size_t> run;
    std::span<const double> value;
    double origin = 0;
};

/// Components of variance of a nested design day / run / replicate, balanced or not.
/// confidence   of both intervals, strictly between 0 and 1
/// errors   BadInput: columns of other lengths, numbers that are not finite or too large, a day number that is not used, no results that
///          share a day (and run), a confidence out of bounds
/// source   sequential (type I) sums of squares set equal to their expectations: S. R. Searle, G. Casella, C. E. McCulloch, Variance
///          Components, 1992 (from memory); for a balanced design these are the formulas of EP05. Degrees of freedom: F. E. Satterthwaite,
///          Biometrics Bull. 1946;2:110. A negative component is estimated with the others as it is, and counts as 0 in the sum
base::Result<Precision> nestedPrecision(const PrecisionData& data, double confidence = 0.95);

} // namespace mk::stats
