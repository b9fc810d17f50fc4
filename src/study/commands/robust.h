// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/robust/robust.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// values in the order of the file; algorithmA nothing where it has no answer, and then note says why
struct StudyRobustReport {
    std::vector<double> values;
    double median = 0;
    double madScaled = 0;
    std::optional<stats::AlgorithmA> algorithmA;
    std::string note;
    std::vector<std::string> ignoredColumns;
};

/// Median, scaled median absolute deviation and Algorithm A of a file's column value.
/// errors  BadInput: a cell, with its line; no rows; values too far apart
base::Result<StudyRobustReport> studyRobust(const StudyFile& file);
std::string studyRobustJson(const StudyRobustReport& report);
std::string studyRobustTable(const StudyRobustReport& report);
/// The values in their order, with the median, one scaled deviation on both sides, and Algorithm A's mean.
report::PlotScene studyRobustPlot(const StudyRobustReport& report);

/// Adds `robust` to the studies; parameters as for addStudyCommands.
void addStudyRobust(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
