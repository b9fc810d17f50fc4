// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/precision/allowance.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// What must lie within the allowance.
enum class LotJudgement {
    EachSample, ///< the difference of every sample (handbook 2.3): differences of both signs cannot cancel
    Mean        ///< the mean difference, against what is allowed at the mean of the current lot's results
};

/// A candidate lot against the current one on the same samples. A difference is candidate less current.
/// sdDifference      with n - 1; with meanCi (t interval of the mean difference), t and pValue (two-sided, of no difference): nothing with
///                   one sample; t and pValue nothing either when all differences are the same
/// meanPercent       mean of the samples' differences in percent of their current value, sdPercent its SD, largestPercent the largest
///                   of those without its sign; all nothing when a current value is 0
/// percentOfMeans    100 (mean candidate - mean current) / mean current; nothing with a mean of 0
/// beyond            1-based number of every sample whose difference is not allowed; empty without an allowance
/// allowedMean       what is allowed at the mean of the current lot's results, in the units of the data; nothing without an allowance
/// met               nothing without an allowance
struct LotComparison {
    std::size_t n = 0;
    double meanCurrent = 0;
    double meanCandidate = 0;
    double meanDifference = 0;
    std::optional<double> sdDifference;
    std::optional<Interval> meanCi;
    std::optional<double> t;
    std::optional<double> pValue;
    std::optional<double> meanPercent;
    std::optional<double> sdPercent;
    std::optional<double> largestPercent;
    std::optional<double> percentOfMeans;
    std::vector<std::size_t> beyond;
    std::optional<double> allowedMean;
    std::optional<bool> met;
};

struct LotOptions {
    Allowance allowance;
    LotJudgement judgement = LotJudgement::EachSample;
    double confidence = 0.95;
};

/// current, candidate   [n >= 1] each, sample by sample, in the same unit
/// errors               BadInput: other lengths, numbers that are not finite or too large, an allowance below 0, a confidence out of
///                      bounds, a percentage alone with a current value of 0, or judging the mean with a mean of 0
/// source               the paired t interval; judging every sample: handbook 2.3. Allowed at a sample: of its current value
base::Result<LotComparison> compareLots(std::span<const double> current, std::span<const double> candidate, const LotOptions& options);

} // namespace mk::stats
