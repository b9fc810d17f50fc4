// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/commands/power.h"
#include "report/drawing/study_plot.h"
#include "stats/power/rule_power.h"
#include "stats/power/sigma.h"

#include <cstddef>
#include <functional>
#include <optional>
#include <string>

namespace CLI {
class App;
}

namespace mk::study {

/// allowable, bias, cv   all in percent; levels   2 or 3, for which there is a scheme of rules
struct StudySigmaOptions {
    double allowable = 0;
    double bias = 0;
    double cv = 0;
    std::size_t levels = 2;
    std::optional<StudySchedule> schedule;
};

/// beyondAllowable   chance that a result is off by more than the allowable error, with this bias
/// detection, lengthAtCritical   at the critical shift; nothing when that is not above 0
struct StudySigmaReport {
    StudySigmaOptions options;
    stats::SigmaMetric metric;
    stats::RuleChoice choice;
    double beyondAllowable = 0;
    double falseRejection = 0;
    double lengthInControl = 0;
    std::optional<double> detection;
    std::optional<double> lengthAtCritical;
    std::optional<double> falseAlarms;    // in 30 days
    std::optional<double> daysUntilFound; // the critical shift
};

/// errors  BadInput: a number out of bounds; a CV of 0
base::Result<StudySigmaReport> studySigma(const StudySigmaOptions& options);
std::string studySigmaJson(const StudySigmaReport& report);
std::string studySigmaTable(const StudySigmaReport& report);
/// Rejection against the shift by the chosen rules, the critical shift marked.
report::PlotScene studySigmaPlot(const StudySigmaReport& report);

/// Adds `sigma` to the studies; parameters as for addStudyCommands.
void addStudySigma(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
