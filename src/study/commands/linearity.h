// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/precision/linearity.h"

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

struct StudyLinearityOptions {
    stats::Allowance allowance;
    stats::LinearityAgainst against = stats::LinearityAgainst::Line;
};

/// assigned, values   row by row
struct StudyLinearityReport {
    std::vector<double> assigned;
    std::vector<double> values;
    StudyLinearityOptions options;
    stats::Linearity linearity;
    std::vector<std::string> ignoredColumns;
};

/// Linearity of a file's columns assigned and value.
/// errors  BadInput: a cell, with its line; fewer than three levels; an allowance below 0
base::Result<StudyLinearityReport> studyLinearity(const StudyFile& file, const StudyLinearityOptions& options);
std::string studyLinearityJson(const StudyLinearityReport& report);
std::string studyLinearityTable(const StudyLinearityReport& report);
/// Above the results against their assigned values, with the line and what is allowed; below the deviations in percent.
report::PlotScene studyLinearityPlot(const StudyLinearityReport& report);

/// Adds `linearity` to the studies; parameters as for addStudyCommands. Exit status 1 when an allowance is not met.
void addStudyLinearity(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
