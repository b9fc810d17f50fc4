// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/agreement.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/paired_sums.h"
#include "stats/basics/paired_values.h"

#include <cmath>

namespace mk::stats {

namespace {

void addAgreementLimits(Agreement& result, double sd, double confidence, LimitError error)
{
    const auto n = static_cast<double>(result.n);
    constexpr double kLimitFactor = 1.96;
    const double z = normalFactor(0.95);
    const double biasError = sd / std::sqrt(n);
    const double limitError = error == LimitError::Simple ? std::sqrt(3 / n) * sd : sd * std::sqrt(1 / n + z * z / (2 * (n - 1)));
    const auto about = [&](double middle, double standardError) { return studentInterval(middle, standardError, n - 1, confidence); };
    result.sd = sd;
    result.lower = result.bias - kLimitFactor * sd;
    result.upper = result.bias + kLimitFactor * sd;
    result.biasError = biasError;
    result.limitError = limitError;
    result.biasCi = about(result.bias, biasError);
    result.lowerCi = about(*result.lower, limitError);
    result.upperCi = about(*result.upper, limitError);
}

} // namespace

base::Result<Agreement> agreement(std::span<const double> reference, std::span<const double> test, double confidence, LimitError error)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    const std::size_t n = reference.size();
    if (n == 0 || n != test.size())
        return faultOfPairs(reference, test);
    const double first = test[0] - reference[0];
    const auto sum = sumOverPairs<1>(
        n, [&](auto& to, std::size_t lane, std::size_t i) { to[0][lane] += (test[i] - reference[i]) - first; });
    Agreement result;
    result.n = n;
    result.bias = static_cast<double>(first + sum[0] / static_cast<long double>(n));
    const auto squares = sumOverPairs<2>(n, [&](auto& to, std::size_t lane, std::size_t i) {
        const double distance = (test[i] - reference[i]) - result.bias;
        to[0][lane] += distance;
        to[1][lane] += distance * distance;
    });
    const long double centred = squares[1] - squares[0] * squares[0] / static_cast<long double>(n);
    if (!std::isfinite(static_cast<double>(centred)))
        return faultOfPairs(reference, test);
    if (n >= 2)
        addAgreementLimits(result, static_cast<double>(std::sqrt(centred / static_cast<long double>(n - 1))), confidence, error);
    const Interval lowerCi = result.lowerCi.value_or(Interval {});
    const Interval upperCi = result.upperCi.value_or(Interval {});
    if (!allFinite({ lowerCi.lower, lowerCi.upper, upperCi.lower, upperCi.upper }))
        return tooFarApart();
    return result;
}

} // namespace mk::stats
