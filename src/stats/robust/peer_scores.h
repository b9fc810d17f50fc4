// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <optional>
#include <span>

/// How a result stands against an assigned value or against a peer group. All are pure numbers; each is nothing where what it is divided
/// by is not above 0 or an input is not finite. Source: ISO 13528 and the usual peer programmes (formulas from memory, SDI as read).
namespace mk::stats {

/// (result - assigned) / sigma. sigma: the SD for proficiency assessment, in the units of the result
std::optional<double> zScore(double result, double assigned, double sigma);
/// (result - assigned) / sqrt(sigma^2 + uAssigned^2): the assigned value's standard uncertainty counts too
std::optional<double> zPrimeScore(double result, double assigned, double sigma, double uAssigned);
/// (result - assigned) / sqrt(uResult^2 + uAssigned^2). u: standard uncertainties
std::optional<double> zetaScore(double result, double assigned, double uResult, double uAssigned);
/// (result - assigned) / sqrt(UResult^2 + UAssigned^2). Expanded uncertainties (usually k = 2); within -1 to 1 is agreement
std::optional<double> enScore(double result, double assigned, double expandedResult, double expandedAssigned);
/// SDI: (mean - peer mean) / peer SD
std::optional<double> standardDeviationIndex(double mean, double peerMean, double peerSd);
/// CVI, also CVR: CV / peer CV, both in percent
std::optional<double> coefficientOfVariationIndex(double cvPercent, double peerCvPercent);
/// 100 (result - assigned) / assigned
std::optional<double> percentDifference(double result, double assigned);

/// Bias on a certified material with its uncertainty.
/// meanError           SD / sqrt(n), the standard error of the mean
/// bias                mean - certified; uBias = sqrt(meanError^2 + uCertified^2)
/// t, df, pValue       bias / uBias, held against Student's t with n - 1 degrees of freedom, two-sided; nothing when uBias is 0
struct CertifiedBias {
    std::size_t n = 0;
    double mean = 0;
    double sd = 0;
    double meanError = 0;
    double bias = 0;
    double uBias = 0;
    std::size_t df = 0;
    std::optional<double> t;
    std::optional<double> pValue;
};

/// values       [n >= 2], results on the material; certified and uCertified (standard uncertainty, >= 0) in their units
/// errors       BadInput: fewer than two values, numbers that are not finite or too large, an uncertainty below 0
/// source       Clin. Biochem. Rev. 2008;29 (suppl. 1):S53, appendix 2
base::Result<CertifiedBias> certifiedBias(std::span<const double> values, double certified, double uCertified);

} // namespace mk::stats
