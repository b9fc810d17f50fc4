// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

namespace mk::stats {

/// Whether points scatter about a line at random along it, by their signs alone.
/// above, below   points above and below the line; those on it within rounding are neither
/// largest        largest distance from 0 of the cumulative sum of scores along the line
/// critical       1.36 sqrt(above + below): beyond it linearity is rejected at 5 %
/// linear         largest <= critical
struct CusumLinearity {
    std::size_t above = 0;
    std::size_t below = 0;
    double largest = 0;
    double critical = 0;
    bool linear = true;
};

/// A Passing-Bablok regression, in units of y over x and of y.
/// slopes                  N, the pairs of points that count
/// slope, intercept        nothing where there is no slope: no two points differ, or the middle of the slopes is vertical or below -1
/// lowerRank, upperRank    M1 and M2, the ranks of the slope's limits among the N in shifted order; nothing where they fall outside 1 to N
/// slopeCi, interceptCi    nothing where a limit has no rank or its slope is vertical or below -1
/// linearity               nothing without a slope
struct PassingBablok {
    std::uint64_t slopes = 0;
    std::optional<double> slope;
    std::optional<double> intercept;
    std::optional<std::uint64_t> lowerRank;
    std::optional<std::uint64_t> upperRank;
    std::optional<Interval> slopeCi;
    std::optional<Interval> interceptCi;
    std::optional<CusumLinearity> linearity;
};

/// y = intercept + slope x, by the shifted median of the slopes of all pairs of points.
/// rule         identical points are dropped, vertical pairs are infinite by the sign of dy, slopes of exactly -1 are dropped; shifted by
///              K, the number below -1; the mean of the two middle slopes where N is even; C = z sqrt(n (n - 1) (2 n + 5) / 18),
///              M1 = round((N - C) / 2), M2 = N - M1 + 1; intercept = median(y - slope x), its limits with the slope's limits
/// ties         found in decimal, see onDecimalGrid
/// x, y         [n >= 1], not reordered
/// confidence   two-sided, strictly between 0 and 1
/// time         O(n log n) expected, O(n) space; all pairs are listed only where n is small
/// errors       BadInput: columns of different lengths, no pairs or 2^32 and more, a number that is not finite, a confidence out of bounds
/// source       Passing & Bablok, J Clin Chem Clin Biochem 1983;21:709
base::Result<PassingBablok> passingBablok(std::span<const double> x, std::span<const double> y, double confidence = 0.95);

/// The slope alone; as above.
std::optional<double> passingBablokSlope(std::span<const double> x, std::span<const double> y);

/// The cusum test of linearity. With l points above the line and L below it, scores sqrt(L / l) for a point above and -sqrt(l / L) for
/// one below are added up in the order of the points along the line, by x + slope y; the largest sum without its sign is held against
/// 1.36 sqrt(L + l), the asymptotic two-sample Kolmogorov-Smirnov limit at 5 %. Conservative, since the line is fitted to these points:
/// `linear` is weak evidence.
/// source   Passing & Bablok 1983; the factor under the root read as l + L, which is what the statistic's distribution asks for
CusumLinearity cusumLinearity(std::span<const double> x, std::span<const double> y, double slope, double intercept);

} // namespace mk::stats
