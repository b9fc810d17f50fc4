// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/power/rule_chain.h"

#include <string>
#include <vector>

/// Rules for the tests of their power, and plain ways to the same numbers.
namespace mk::stats {

/// text   rules as published, such as "1-3s/2-2s/R-4s"; an unknown one ends the test
RuleSettings powerSettings(const std::string& text, std::size_t levels, RangeReading reading = RangeReading::Opposite);

/// The chance that a rule fires within so many sets: every sequence of zones is shown to ControlSeries, and its chances are added.
/// cuts   where the rules cut a score, ascending
double enumeratedRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets, const std::vector<double>& cuts);

/// The share of simulated series that ControlSeries rejects within so many sets, with the standard library's normal deviates.
double drawnRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets, std::size_t series, unsigned seed);

} // namespace mk::stats
