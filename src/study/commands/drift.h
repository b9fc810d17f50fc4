// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/drift/drift.h"
#include "stats/drift/drift_slope.h"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// Target and SD in the units of the data; k and h in SD.
struct StudyDriftOptions {
    double target = 0;
    double sd = 1;
    double lambda = 0.2;
    double width = 3;
    stats::EwmaLimits limits = stats::EwmaLimits::Exact;
    double k = 0.5;
    double h = 4;
};

struct StudyDriftReport {
    StudyDriftOptions options;
    std::vector<double> values;
    stats::EwmaChart ewma;
    stats::CusumChart cusum;
    std::vector<std::size_t> trend;         ///< 1-based number of every value at which 7T fires
    std::optional<stats::DriftSlope> slope; ///< per value; nothing below two values or above stats::kMostDriftPoints
    std::vector<std::string> ignoredColumns;
};

/// Both charts of a file's column value, with its trends.
/// errors  BadInput: an option out of its bounds, or a cell, with its line; values too far apart to compute with
base::Result<StudyDriftReport> studyDrift(const StudyFile& file, const StudyDriftOptions& options);
std::string studyDriftJson(const StudyDriftReport& report);
std::string studyDriftTable(const StudyDriftReport& report);
/// The values with their EWMA above, both CUSUM sums below, signals marked.
report::PlotScene studyDriftPlot(const StudyDriftReport& report);

/// Adds `drift` to the studies; parameters as for addStudyCommands.
void addStudyDrift(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
