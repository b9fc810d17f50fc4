// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/robust/peer_scores.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/basics/pooling.h"

#include <cmath>

namespace mk::stats {

namespace {

std::optional<double> peerQuotient(double distance, double by)
{
    const double quotient = distance / by;
    if (!(by > 0) || !std::isfinite(by) || !std::isfinite(quotient))
        return std::nullopt;
    return quotient;
}

} // namespace

std::optional<double> zScore(double result, double assigned, double sigma)
{
    return peerQuotient(result - assigned, sigma);
}

std::optional<double> zPrimeScore(double result, double assigned, double sigma, double uAssigned)
{
    return peerQuotient(result - assigned, std::hypot(sigma, uAssigned));
}

std::optional<double> zetaScore(double result, double assigned, double uResult, double uAssigned)
{
    return peerQuotient(result - assigned, std::hypot(uResult, uAssigned));
}

std::optional<double> enScore(double result, double assigned, double expandedResult, double expandedAssigned)
{
    return peerQuotient(result - assigned, std::hypot(expandedResult, expandedAssigned));
}

std::optional<double> standardDeviationIndex(double mean, double peerMean, double peerSd)
{
    return peerQuotient(mean - peerMean, peerSd);
}

std::optional<double> coefficientOfVariationIndex(double cvPercent, double peerCvPercent)
{
    return peerQuotient(cvPercent, peerCvPercent);
}

std::optional<double> percentDifference(double result, double assigned)
{
    return peerQuotient(100 * (result - assigned), assigned);
}

base::Result<CertifiedBias> certifiedBias(std::span<const double> values, double certified, double uCertified)
{
    if (const auto numbers = checkNumbers(values, Numbers::Values); !numbers)
        return numbers.error();
    if (values.size() < 2)
        return base::badInput("there is only one value; the uncertainty of a bias needs at least two");
    if (!std::isfinite(certified) || !(uCertified >= 0) || !std::isfinite(uCertified))
        return base::badInput("the certified value must be a number, and its uncertainty 0 or more");
    const Moments block = moments(values);
    const double sd = sdOf(block).value();
    CertifiedBias bias { block.n, block.mean, sd, sd / std::sqrt(static_cast<double>(block.n)), block.mean - certified, 0, block.n - 1,
        std::nullopt, std::nullopt };
    bias.uBias = std::hypot(bias.meanError, uCertified);
    if (!std::isfinite(bias.uBias) || !std::isfinite(bias.bias))
        return tooFarApart();
    bias.t = peerQuotient(bias.bias, bias.uBias);
    if (bias.t)
        bias.pValue = studentTwoSided(*bias.t, static_cast<double>(bias.df));
    return bias;
}

} // namespace mk::stats
