// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/basics/interval.h"

/// Tails and quantiles of the distributions that the statistics rest on, and the intervals made of them. Arguments out of bounds are bugs
/// of the caller. A result beyond the range of doubles is infinity.
namespace mk::stats {

/// The chance that a standard normal deviate lies above x, accurate far out, where 1 - Phi would have no digits left.
/// x   any number, infinities too
double normalAbove(double x);
/// The chance that it lies between two bounds. lower <= upper, infinities allowed
double normalBetween(double lower, double upper);
/// Its density at x.
double normalDensity(double x);

/// P(|T| >= |t|) for Student's t with df > 0. t: finite
double studentTwoSided(double t, double df);
/// P(F >= f) for Fisher's F. f: finite, >= 0; degrees of freedom > 0
double fisherAbove(double f, double numeratorDf, double denominatorDf);

/// Half the width of a two-sided normal interval in standard errors: the quantile at (1 + confidence) / 2.
/// confidence   strictly between 0 and 1
double normalFactor(double confidence);
/// The same of Student's t. df: > 0, need not be whole
double studentFactor(double confidence, double df);

/// estimate ± t standardError. df: > 0; confidence: strictly between 0 and 1
Interval studentInterval(double estimate, double standardError, double df, double confidence);
/// The chi-square interval of an SD from normal results: sd sqrt(df / chi2) at both tails.
/// sd   >= 0; df > 0, need not be whole (Satterthwaite); confidence strictly between 0 and 1
Interval sdInterval(double sd, double df, double confidence);

} // namespace mk::stats
