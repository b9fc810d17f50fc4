// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/polynomial_fit.h"

#include "stats/basics/input_checks.h"
#include "stats/basics/paired_values.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

using PolynomialColumn = std::vector<long double>;

/// One polynomial of the orthogonal set.
/// powers  its coefficients in the scaled t, lowest power first
/// values  its value at every point
/// norm    sum of the squared values
struct OrthogonalPolynomial {
    PolynomialColumn powers;
    PolynomialColumn values;
    long double norm = 0;
};

long double polynomialDot(const PolynomialColumn& a, const PolynomialColumn& b)
{
    long double sum = 0;
    for (std::size_t i = 0; i < a.size(); ++i)
        sum += a[i] * b[i];
    return sum;
}

long double polynomialMean(std::span<const double> values)
{
    long double sum = 0;
    for (const double value : values)
        sum += static_cast<long double>(value) - values[0];
    return values[0] + sum / static_cast<long double>(values.size());
}

/// The values minus their mean.
PolynomialColumn centredColumn(std::span<const double> values, long double mean)
{
    PolynomialColumn centred(values.size());
    std::ranges::transform(values, centred.begin(), [mean](double value) { return value - mean; });
    return centred;
}

/// to -= factor * from, where `from` may be shorter.
void subtractScaled(PolynomialColumn& to, const PolynomialColumn& from, long double factor)
{
    for (std::size_t i = 0; i < from.size(); ++i)
        to[i] -= factor * from[i];
}

/// The next polynomial: t times the last one, made orthogonal to all before. Twice, as once leaves a rest of rounding.
OrthogonalPolynomial nextPolynomial(const std::vector<OrthogonalPolynomial>& before, const PolynomialColumn& t)
{
    const OrthogonalPolynomial& last = before.back();
    OrthogonalPolynomial next;
    next.powers.assign(1, 0);
    next.powers.insert(next.powers.end(), last.powers.begin(), last.powers.end());
    next.values = last.values;
    for (std::size_t i = 0; i < t.size(); ++i)
        next.values[i] *= t[i];
    for (int pass = 0; pass < 2; ++pass) {
        for (const OrthogonalPolynomial& one : before) {
            const long double share = polynomialDot(next.values, one.values) / one.norm;
            subtractScaled(next.values, one.values, share);
            subtractScaled(next.powers, one.powers, share);
        }
    }
    next.norm = polynomialDot(next.values, next.values);
    return next;
}

/// Coefficients in x of a polynomial given in t = (x - centre) / scale: Horner's rule on polynomials.
PolynomialColumn polynomialInX(const PolynomialColumn& inT, long double centre, long double scale)
{
    PolynomialColumn inX(inT.size(), 0);
    for (std::size_t power = inT.size(); power-- > 0;) {
        for (std::size_t i = inX.size(); i-- > 1;)
            inX[i] = (inX[i - 1] - centre * inX[i]) / scale;
        inX[0] = inT[power] - centre * inX[0] / scale;
    }
    return inX;
}

/// The set of orthogonal polynomials up to the order; one too few when the x do not determine the last.
std::vector<OrthogonalPolynomial> orthogonalSet(const PolynomialColumn& t, std::size_t order)
{
    const auto n = static_cast<long double>(t.size());
    // Points scaled to [-1, 1] leave squares of at most n times the square of the rounding where x do not differ enough.
    constexpr long double kNothingLeft = 1e-30L;
    std::vector<OrthogonalPolynomial> set;
    set.push_back({ PolynomialColumn(1, 1), PolynomialColumn(t.size(), 1), n });
    while (set.size() <= order) {
        auto next = nextPolynomial(set, t);
        if (!(next.norm > kNothingLeft * n))
            break;
        set.push_back(std::move(next));
    }
    return set;
}

base::Done checkPolynomial(std::span<const double> x, std::span<const double> y, int order)
{
    if (order < 1 || order > 3)
        return base::badInput("the order of the polynomial is %1; choose 1, 2 or 3", order);
    return checkPairs(x, y, static_cast<std::size_t>(order) + 2);
}

/// Coefficients and standard errors in x out of the parts along each polynomial. shares [set size]
base::Done expandPolynomial(PolynomialFit& fit, const std::vector<OrthogonalPolynomial>& set, const PolynomialColumn& shares,
    long double centre, long double scale, long double meanY)
{
    PolynomialColumn coefficients(set.size(), 0);
    PolynomialColumn variances(set.size(), 0);
    coefficients[0] = meanY;
    for (std::size_t k = 0; k < set.size(); ++k) {
        const PolynomialColumn powers = polynomialInX(set[k].powers, centre, scale);
        for (std::size_t i = 0; i < powers.size(); ++i) {
            coefficients[i] += shares[k] * powers[i];
            variances[i] += powers[i] * powers[i] / set[k].norm;
        }
    }
    for (std::size_t i = 0; i < set.size(); ++i) {
        fit.coefficients.push_back(static_cast<double>(coefficients[i]));
        fit.standardErrors.push_back(static_cast<double>(fit.residualSd * std::sqrt(variances[i])));
        if (!std::isfinite(fit.coefficients.back()) || !std::isfinite(fit.standardErrors.back()))
            return tooFarApart();
    }
    return {};
}

} // namespace

base::Result<PolynomialFit> fitPolynomial(std::span<const double> x, std::span<const double> y, int order)
{
    if (const auto checked = checkPolynomial(x, y, order); !checked)
        return checked.error();
    const long double centre = polynomialMean(x);
    const long double meanY = polynomialMean(y);
    PolynomialColumn t = centredColumn(x, centre);
    const long double scale = std::abs(*std::ranges::max_element(t, {}, [](long double one) { return std::abs(one); }));
    for (long double& one : t)
        one = scale > 0 ? one / scale : 0;
    const auto set = orthogonalSet(t, static_cast<std::size_t>(order));
    if (set.size() != static_cast<std::size_t>(order) + 1)
        return base::badInput("a polynomial of order %1 needs at least %2 different x values; give more levels", order, order + 1);
    PolynomialColumn rest = centredColumn(y, meanY);
    const long double total = polynomialDot(rest, rest);
    PolynomialColumn shares;
    for (const OrthogonalPolynomial& one : set) {
        shares.push_back(polynomialDot(rest, one.values) / one.norm);
        subtractScaled(rest, one.values, shares.back());
    }
    const long double left = polynomialDot(rest, rest);
    PolynomialFit fit;
    fit.df = x.size() - set.size();
    fit.residualSd = static_cast<double>(std::sqrt(left / static_cast<long double>(fit.df)));
    if (total > 0)
        fit.rSquared = static_cast<double>(1 - left / total);
    if (const auto expanded = expandPolynomial(fit, set, shares, centre, scale, meanY); !expanded)
        return expanded.error();
    return fit;
}

} // namespace mk::stats
