// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/basics/summary.h"

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

struct StudySummaryReport {
    std::vector<double> values;
    stats::Summary summary;
    double confidence = 0.95;
    std::vector<std::string> ignoredColumns;
};

/// The summary of a file's column value.
/// errors  BadInput: a cell, with its line; no rows; a confidence out of bounds
base::Result<StudySummaryReport> studySummary(const StudyFile& file, double confidence);
std::string studySummaryJson(const StudySummaryReport& report);
std::string studySummaryTable(const StudySummaryReport& report);
/// The values in their order, with mean and SD.
report::PlotScene studySummaryPlot(const StudySummaryReport& report);

/// Adds `summary` to the studies; parameters as for addStudyCommands.
void addStudySummary(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
