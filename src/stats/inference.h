// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/summary.h"

#include <span>
#include <string_view>

/// Quantiles and tail probabilities that the studies share. Inputs out of bounds are bugs of the caller: nothing here is asked of data.
namespace mk::stats {

/// The point above which `tail` of the standard normal distribution lies. tail: strictly between 0 and 1
double normalUpper(double tail);
/// The point above which `tail` of Student's t with df degrees of freedom lies. df: > 0, need not be whole
double studentsUpper(double tail, double df);
/// P(|T| >= |t|) for Student's t with df > 0. t: finite
double studentsTwoSided(double t, double df);
/// P(F >= f) for Fisher's F. f: finite, >= 0; degrees of freedom > 0
double fisherUpper(double f, double numeratorDf, double denominatorDf);

/// The chi-square interval of an SD from normal results: sd sqrt(df / chi2) at both tails.
/// sd   >= 0; df > 0, need not be whole (Satterthwaite); confidence strictly between 0 and 1
Interval sdInterval(double sd, double df, double confidence);

/// errors  BadInput: the confidence does not lie strictly between 0 and 1
base::Done checkConfidence(double confidence);
/// what    what one of them is called, such as "value"
/// errors  BadInput, counting from 1: none at all, or one that is not a finite number
base::Done checkNumbers(std::span<const double> values, std::string_view what);
/// What a study says when its sums have left the range of numbers.
base::Fault tooFarApart();

} // namespace mk::stats
