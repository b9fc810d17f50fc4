// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/columns.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/precision/precision.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// values, days, runs   row by row; runs nothing when the file has no such column
struct StudyPrecisionReport {
    std::vector<double> values;
    StudyLabels days;
    std::optional<StudyLabels> runs;
    stats::Precision precision;
    double confidence = 0.95;
    std::vector<std::string> ignoredColumns;
};

/// Components of variance of a file's columns day, run (may be absent) and value. Values are subtracted as the decimals they are typed as.
/// errors  BadInput: a cell, with its line; too few results to tell; a confidence out of bounds
base::Result<StudyPrecisionReport> studyPrecision(const StudyFile& file, double confidence);
std::string studyPrecisionJson(const StudyPrecisionReport& report);
std::string studyPrecisionTable(const StudyPrecisionReport& report);
/// The values by day, with the means of the days and of all.
report::PlotScene studyPrecisionPlot(const StudyPrecisionReport& report);

/// Adds `precision` to the studies; parameters as for addStudyCommands.
void addStudyPrecision(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
