// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/rules/control_rules.h"

#include <cstddef>
#include <vector>

namespace mk::stats {

/// How much room a method has between its errors and what is allowed.
/// sigma            (allowable - |bias|) / cv; at 0 or below the bias alone uses up the allowable error
/// criticalShift    sigma - 1.65: the systematic error, in SD, at which 5 % of results on one side are beyond the allowable error.
///                  1.65 is the rounding of 1.644854 in general use, so that published tables are met; at 0 or below they are so already
/// criticalRandom   sigma / 1.96: the factor on the SD at which 5 % of results on both sides are beyond; below 1 they are so already
struct SigmaMetric {
    double sigma = 0;
    double criticalShift = 0;
    double criticalRandom = 0;
};

inline constexpr double kCriticalShiftTail = 1.65;
inline constexpr double kCriticalRandomTail = 1.96;

/// allowable   total allowable error, above 0; bias   either sign; cv   above 0: all in percent, or all in the unit of the result
/// errors      BadInput: anything else
/// source      the usual formulas of quality planning; checked against published tables
base::Result<SigmaMetric> sigmaMetric(double allowable, double bias, double cv);

/// A choice of control rules.
/// levels   control levels in each set
/// sets     sets that are read together before a decision
struct RuleChoice {
    std::vector<Rule> rules;
    std::size_t levels = 2;
    std::size_t sets = 1;
};

/// The control rules that are recommended for a method of that quality: the fewer, the more room it has.
/// levels   2 or 3: there is a scheme for each
/// source   our choice, after the usual control rules by sigma; no published table was read. A bound belongs to the better class (>=)
RuleChoice rulesForSigma(double sigma, std::size_t levels);

/// The chance that a result is off by more than the allowable error, on either side: Phi(shift - a) + Phi(-shift - a).
/// a, shift   allowable error and systematic error, in SD; a >= 0
double chanceBeyondAllowable(double a, double shift);

/// Results per million beyond the nearer limit of a method of that sigma: 1e6 Phi(shift - sigma).
/// shift   in SD; 1.5 is the long-term shift that quality tables usually assume
double defectsPerMillion(double sigma, double shift);

} // namespace mk::stats
