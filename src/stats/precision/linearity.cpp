// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/linearity.h"

#include "stats/precision/anova.h"
#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/pooling.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

constexpr int kHighestOrder = 3;
constexpr double kSignificance = 0.05;
constexpr double kRoundingOnly = 1e-12; // residuals below this part of the largest value are what doubles leave over

/// The results by level.
struct LevelsOfResults {
    std::vector<double> assigned; // rising
    std::vector<std::size_t> levelOf;
};

LevelsOfResults levelsOfResults(std::span<const double> assigned)
{
    LevelsOfResults levels;
    levels.assigned.assign(assigned.begin(), assigned.end());
    std::ranges::sort(levels.assigned);
    levels.assigned.erase(std::unique(levels.assigned.begin(), levels.assigned.end()), levels.assigned.end());
    for (const double one : assigned) {
        const auto at = std::ranges::lower_bound(levels.assigned, one);
        levels.levelOf.push_back(static_cast<std::size_t>(at - levels.assigned.begin()));
    }
    return levels;
}

base::Done checkLinearityInput(std::span<const double> assigned, std::span<const double> value, const Allowance& allowance)
{
    if (const auto allowed = checkAllowance(allowance); !allowed)
        return allowed.error();
    if (assigned.size() != value.size())
        return base::badInput("assigned values and results differ in number; give each result its assigned value");
    if (const auto numbers = checkNumbers(value, Numbers::Values); !numbers)
        return numbers.error();
    return checkNumbers(assigned, Numbers::AssignedValues);
}

base::Done checkLinearityLevels(const LevelsOfResults& levels, const Allowance& allowance)
{
    const std::size_t count = levels.assigned.size();
    if (count < 3)
        return count == 1 ? base::badInput("there is only one level; linearity needs at least three, better five")
                          : base::badInput("there are only two levels; linearity needs at least three, better five");
    const bool zero = std::ranges::find(levels.assigned, 0.0) != levels.assigned.end();
    if (zero && allowance.percent && !allowance.absolute)
        return base::badInput("a percentage of the assigned value 0 allows nothing; allow an absolute difference as well");
    return {};
}

double polynomialAt(const PolynomialFit& fit, double x)
{
    long double sum = 0;
    for (auto b = fit.coefficients.rbegin(); b != fit.coefficients.rend(); ++b)
        sum = sum * x + *b;
    return static_cast<double>(sum);
}

CurvatureTest curvatureTest(const PolynomialFit& fit, int power, bool exact, bool lineMisses)
{
    const auto at = static_cast<std::size_t>(power);
    CurvatureTest test { power, std::nullopt, std::nullopt, false };
    const double t = fit.coefficients[at] / fit.standardErrors[at];
    if (exact || !std::isfinite(t)) {
        test.significant = lineMisses && exact;
        return test;
    }
    test.t = t;
    test.pValue = studentTwoSided(t, static_cast<double>(fit.df));
    test.significant = *test.pValue < kSignificance;
    return test;
}

/// All fits that levels and results allow, order 1 first.
base::Result<std::vector<LinearityFit>> linearityFits(
    std::span<const double> assigned, std::span<const double> value, const LevelsOfResults& levels)
{
    double largest = 0;
    for (const double one : value)
        largest = std::max(largest, std::abs(one));
    std::vector<LinearityFit> fits;
    for (int order = 1; order <= kHighestOrder; ++order) {
        const auto needed = static_cast<std::size_t>(order) + 1;
        if (order > 1 && (levels.assigned.size() < needed || value.size() < needed + 1))
            break;
        auto fitted = fitPolynomial(assigned, value, order);
        if (!fitted)
            return fitted.error();
        LinearityFit one { order, std::move(fitted).value(), {}, {} };
        const bool exact = one.fit.residualSd <= kRoundingOnly * largest;
        const bool lineMisses = order > 1 && fits.front().fit.residualSd > kRoundingOnly * largest;
        for (int power = 2; power <= order; ++power)
            one.tests.push_back(curvatureTest(one.fit, power, exact, lineMisses));
        const PolynomialFit& line = order == 1 ? one.fit : fits.front().fit;
        for (const double at : levels.assigned) {
            one.deviations.push_back(polynomialAt(one.fit, at) - polynomialAt(line, at));
            if (!std::isfinite(one.deviations.back()))
                return tooFarApart();
        }
        fits.push_back(std::move(one));
    }
    return fits;
}

std::optional<int> curvedOrderOf(const std::vector<LinearityFit>& fits)
{
    const LinearityFit* best = nullptr;
    for (const LinearityFit& one : fits) {
        const bool curved = std::ranges::any_of(one.tests, &CurvatureTest::significant);
        if (curved && (best == nullptr || one.fit.residualSd < best->fit.residualSd))
            best = &one;
    }
    if (best == nullptr)
        return std::nullopt;
    return best->order;
}

LinearityLevel linearityLevel(double assigned, const Moments& results, double line, const Allowance& allowance, LinearityAgainst against)
{
    LinearityLevel level;
    level.assigned = assigned;
    level.n = results.n;
    level.mean = results.mean;
    level.line = line;
    level.deviation = results.mean - (against == LinearityAgainst::Line ? line : assigned);
    if (assigned != 0) {
        level.recoveryPercent = 100 * results.mean / assigned;
        level.deviationPercent = 100 * level.deviation / std::abs(assigned);
    }
    level.allowed = allowedAt(allowance, assigned);
    if (level.allowed)
        level.met = withinAllowed(level.deviation, *level.allowed);
    return level;
}

} // namespace

base::Result<Linearity> linearityOf(
    std::span<const double> assigned, std::span<const double> value, const Allowance& allowance, LinearityAgainst against)
{
    if (const auto input = checkLinearityInput(assigned, value, allowance); !input)
        return input.error();
    const LevelsOfResults levels = levelsOfResults(assigned);
    if (const auto enough = checkLinearityLevels(levels, allowance); !enough)
        return enough.error();
    auto fits = linearityFits(assigned, value, levels);
    if (!fits)
        return fits.error();

    Linearity linearity;
    linearity.fits = std::move(fits).value();
    const PolynomialFit& line = linearity.fits.front().fit;
    linearity.intercept = line.coefficients[0];
    linearity.slope = line.coefficients[1];
    linearity.curvedOrder = curvedOrderOf(linearity.fits);
    std::vector<std::vector<double>> results(levels.assigned.size());
    for (std::size_t i = 0; i < value.size(); ++i)
        results[levels.levelOf[i]].push_back(value[i]);
    for (std::size_t at = 0; at < levels.assigned.size(); ++at) {
        const double assignedHere = levels.assigned[at];
        linearity.levels.push_back(
            linearityLevel(assignedHere, moments(results[at]), polynomialAt(line, assignedHere), allowance, against));
        const LinearityLevel& level = linearity.levels.back();
        if (!allFinite({ level.mean, level.line, level.deviation, level.recoveryPercent, level.deviationPercent, level.allowed }))
            return tooFarApart();
    }
    if (const auto pooled = oneWayAnova(levels.levelOf, value)) {
        linearity.repeatabilitySd = pooled->residualSd;
        linearity.repeatabilityDf = pooled->within.df;
    }
    if (allowance.given())
        linearity.met = std::ranges::all_of(linearity.levels, [](const LinearityLevel& level) { return level.met.value_or(false); });
    return linearity;
}

} // namespace mk::stats
