// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/lot_comparison.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/pooling.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

base::Done checkLotInput(std::span<const double> current, std::span<const double> candidate, const LotOptions& options)
{
    if (const auto confidence = checkConfidence(options.confidence); !confidence)
        return confidence.error();
    if (const auto allowed = checkAllowance(options.allowance); !allowed)
        return allowed.error();
    if (current.size() != candidate.size())
        return base::badInput("the two lots differ in their number of results; give both results of every sample");
    if (const auto numbers = checkNumbers(current, Numbers::OfCurrentLot); !numbers)
        return numbers.error();
    if (const auto numbers = checkNumbers(candidate, Numbers::OfCandidateLot); !numbers)
        return numbers.error();
    const auto zero = std::ranges::find(current, 0.0);
    if (zero != current.end() && options.allowance.percent && !options.allowance.absolute)
        return base::badInput(
            "result %1 of the current lot is 0, of which a percentage allows nothing; allow an absolute difference as well",
            zero - current.begin() + 1);
    return {};
}

void addLotSpread(LotComparison& comparison, const Moments& differences, double confidence)
{
    comparison.sdDifference = sdOf(differences);
    if (!comparison.sdDifference)
        return;
    const auto n = static_cast<double>(comparison.n);
    const double error = *comparison.sdDifference / std::sqrt(n);
    comparison.meanCi = studentInterval(comparison.meanDifference, error, n - 1, confidence);
    const double t = comparison.meanDifference / error;
    if (std::isfinite(t) && error > 0) {
        comparison.t = t;
        comparison.pValue = studentTwoSided(t, n - 1);
    }
}

void addLotPercents(LotComparison& comparison, std::span<const double> current, std::span<const double> differences)
{
    if (comparison.meanCurrent != 0)
        comparison.percentOfMeans = 100 * comparison.meanDifference / comparison.meanCurrent;
    if (std::ranges::find(current, 0.0) != current.end())
        return;
    std::vector<double> percents;
    double largest = 0;
    for (std::size_t i = 0; i < current.size(); ++i) {
        percents.push_back(100 * differences[i] / current[i]);
        largest = std::max(largest, std::abs(percents.back()));
    }
    const Moments block = moments(percents);
    comparison.meanPercent = block.mean;
    comparison.sdPercent = sdOf(block);
    comparison.largestPercent = largest;
}

bool lotFiguresFinite(const LotComparison& lots)
{
    const Interval meanCi = lots.meanCi.value_or(Interval {});
    return allFinite({ lots.meanCurrent, lots.meanCandidate, lots.meanDifference, meanCi.lower, meanCi.upper, lots.meanPercent,
        lots.sdPercent, lots.largestPercent, lots.percentOfMeans });
}

void judgeLot(LotComparison& comparison, std::span<const double> current, std::span<const double> differences, const LotOptions& options)
{
    if (!options.allowance.given())
        return;
    for (std::size_t i = 0; i < differences.size(); ++i) {
        if (!withinAllowed(differences[i], allowedAt(options.allowance, current[i]).value_or(0)))
            comparison.beyond.push_back(i + 1);
    }
    comparison.allowedMean = allowedAt(options.allowance, comparison.meanCurrent);
    comparison.met = options.judgement == LotJudgement::EachSample
        ? comparison.beyond.empty()
        : withinAllowed(comparison.meanDifference, comparison.allowedMean.value_or(0));
}

} // namespace

base::Result<LotComparison> compareLots(std::span<const double> current, std::span<const double> candidate, const LotOptions& options)
{
    if (const auto input = checkLotInput(current, candidate, options); !input)
        return input.error();
    std::vector<double> differences;
    for (std::size_t i = 0; i < current.size(); ++i)
        differences.push_back(candidate[i] - current[i]);
    if (!checkNumbers(differences, Numbers::Values))
        return tooFarApart();
    const Moments block = moments(differences);
    if (!std::isfinite(block.squares))
        return tooFarApart();

    LotComparison comparison;
    comparison.n = block.n;
    comparison.meanCurrent = moments(current).mean;
    comparison.meanCandidate = moments(candidate).mean;
    comparison.meanDifference = block.mean;
    addLotSpread(comparison, block, options.confidence);
    addLotPercents(comparison, current, differences);
    if (!lotFiguresFinite(comparison))
        return tooFarApart();
    judgeLot(comparison, current, differences, options);
    if (options.judgement == LotJudgement::Mean && options.allowance.given() && !comparison.allowedMean)
        return base::badInput("the results of the current lot have the mean 0, of which a percentage allows nothing; allow an absolute "
                              "difference as well");
    return comparison;
}

} // namespace mk::stats
