// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/power/rule_chain.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

/// A chance or a run length. standardError: only where it was simulated; without it the value is exact
struct PowerFigure {
    double value = 0;
    std::optional<double> standardError;
};

/// What can be asked of the power of rules.
inline constexpr std::size_t kMostPowerLevels = 4;
inline constexpr std::size_t kMostPowerSets = 1000;
inline constexpr double kLargestPowerShift = 10;
inline constexpr double kLargestPowerRandom = 100;

/// How likely the rules are to reject, for each error of the method: the chance that one of them fires at the n-th set at the latest,
/// from an empty history, as ControlSeries decides. Without error it is the chance of a false rejection.
/// settings   the rules that reject; how R-4s is read; 1 to kMostPowerLevels levels, of which each set holds one result
/// errors     shift within kLargestPowerShift SD either way; random above 0, at most kLargestPowerRandom
/// sets       1 to kMostPowerSets
/// returns    [errors], exact from the Markov chain of rule_chain.h (to about 1e-12), R-4s as a difference too; simulated when 7T is
///            among the rules and can fire (seven sets), or the levels have too many states together
/// errors     BadInput: anything out of these bounds
base::Result<std::vector<PowerFigure>> rejectionChances(
    const RuleSettings& settings, std::span<const MethodError> errors, std::size_t sets);

/// The average number of sets up to and including the first that is rejected, from an empty history; nothing where no rule ever can
/// fire. Else as for `rejectionChances`; exact values are good to 1e-9 of themselves.
base::Result<std::vector<std::optional<PowerFigure>>> averageRunLengths(const RuleSettings& settings, std::span<const MethodError> errors);

/// The share of sets on which a rule fires in the long run where counts go on after each alarm, as ControlSeries decides: a run that goes
/// on fires again and again. Exact from a chain of its own, or simulated, as above.
base::Result<std::vector<PowerFigure>> firingShares(const RuleSettings& settings, std::span<const MethodError> errors);

/// How many combinations of level states an exact answer for so many sets runs over, by which its time grows: 20,000 take milliseconds,
/// a million a second. Nothing where answers are simulated.
/// settings, sets   as above; kAnyNumberOfSets for run lengths
std::optional<std::size_t> exactCombinations(const RuleSettings& settings, std::size_t sets);

/// How many days pass on average from a shift that begins at a random moment until a set is rejected. The first set afterwards comes
/// half an interval later, and arl - 1 more intervals follow: (arl - 1/2) / setsPerDay. The history is taken as empty when the shift
/// begins; results from before it make the counting rules a little slower or faster.
/// arlSets      average run length at the shift, >= 1; setsPerDay > 0, evenly spaced
double daysUntilFound(double arlSets, double setsPerDay);

/// How many false alarms a ward sees on average: meters * setsPerDay * days / arlInControl, when each alarm ends with a fresh history.
double falseAlarms(double meters, double setsPerDay, double days, double arlInControl);
/// The same when counts go on: meters * setsPerDay * days * firingShare.
double falseAlarmsGoingOn(double meters, double setsPerDay, double days, double firingShare);

} // namespace mk::stats
