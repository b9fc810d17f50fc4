// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/deming.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/jackknife.h"

#include <cmath>
#include <vector>

namespace mk::stats {

namespace {

/// The sums without one pair, given by its distances from the means.
PairMoments momentsWithout(const PairMoments& all, double dx, double dy)
{
    const auto n = static_cast<double>(all.n);
    const double share = n / (n - 1);
    return { all.n - 1, all.meanX - dx / (n - 1), all.meanY - dy / (n - 1), all.sxx - share * dx * dx, all.syy - share * dy * dy,
        all.sxy - share * dx * dy };
}

/// The same from the beginning, for a pair that holds most of a sum: subtracting would leave its rounding.
base::Result<PairMoments> momentsAnew(std::span<const double> x, std::span<const double> y, std::size_t without)
{
    std::vector<double> restX(x.begin(), x.end());
    std::vector<double> restY(y.begin(), y.end());
    restX.erase(restX.begin() + static_cast<std::ptrdiff_t>(without));
    restY.erase(restY.begin() + static_cast<std::ptrdiff_t>(without));
    return pairMoments(restX, restY);
}

std::optional<StraightLine> demingWithout(
    std::span<const double> x, std::span<const double> y, const PairMoments& all, double errorRatio, std::size_t without)
{
    const double dx = x[without] - all.meanX;
    const double dy = y[without] - all.meanY;
    const PairMoments rest = momentsWithout(all, dx, dy);
    constexpr double kRest = 0.05; // only one pair of each sum can leave less
    if (rest.sxx >= kRest * all.sxx && rest.syy >= kRest * all.syy)
        return demingLine(rest, errorRatio);
    const auto anew = momentsAnew(x, y, without);
    return anew ? demingLine(*anew, errorRatio) : std::nullopt;
}

} // namespace

std::optional<StraightLine> demingLine(const PairMoments& moments, double errorRatio)
{
    const double d = 1 / errorRatio;
    const double difference = moments.syy - d * moments.sxx;
    const double root = std::hypot(difference, 2 * std::sqrt(d) * moments.sxy);
    // The two forms of one solution: the one whose numerator or denominator does not cancel.
    const double slope = difference > 0 ? (difference + root) / (2 * moments.sxy) : 2 * d * moments.sxy / (root - difference);
    // Divided by something that has become infinite, a slope would be 0.
    if (!(moments.sxx > 0) || !std::isfinite(slope) || !std::isfinite(root) || !std::isfinite(2 * moments.sxy))
        return std::nullopt;
    return StraightLine { slope, moments.meanY - slope * moments.meanX };
}

std::optional<LineUncertainty> demingJackknife(
    std::span<const double> x, std::span<const double> y, const PairMoments& moments, double errorRatio)
{
    const auto whole = demingLine(moments, errorRatio);
    if (!whole)
        return std::nullopt;
    return jackknifeLine(*whole, moments.meanX, moments.n, [&](std::size_t i) { return demingWithout(x, y, moments, errorRatio, i); });
}

Deming demingWithIntervals(const std::optional<StraightLine>& line, const std::optional<LineUncertainty>& uncertainty, double confidence)
{
    Deming result { line, uncertainty, {}, {} };
    if (line && uncertainty) {
        result.slopeCi = studentInterval(line->slope, uncertainty->slopeError(), uncertainty->df, confidence);
        result.interceptCi = studentInterval(line->intercept, uncertainty->errorAt(0), uncertainty->df, confidence);
    }
    return result;
}

base::Done checkDeming(double errorRatio, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (!(errorRatio > 0) || !std::isfinite(errorRatio) || !std::isfinite(1 / errorRatio))
        return base::badInput("the error ratio must be above 0, such as 1");
    return {};
}

base::Result<Deming> deming(std::span<const double> x, std::span<const double> y, double errorRatio, double confidence)
{
    if (const auto checked = checkDeming(errorRatio, confidence); !checked)
        return checked.error();
    const auto moments = pairMoments(x, y);
    if (!moments)
        return moments.error();
    return demingWithIntervals(demingLine(*moments, errorRatio), demingJackknife(x, y, *moments, errorRatio), confidence);
}

} // namespace mk::stats
