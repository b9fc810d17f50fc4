// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/precision/lot_comparison.h"

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// samples, current, candidate   row by row; samples are numbered where the file has no such column
struct StudyLotsReport {
    std::vector<std::string> samples;
    std::vector<double> current;
    std::vector<double> candidate;
    stats::LotOptions options;
    stats::LotComparison lots;
    std::vector<std::string> ignoredColumns;
};

/// A candidate lot against the current one: a file's columns sample (may be absent), current and candidate.
/// errors  BadInput: a cell, with its line; an allowance below 0; a confidence out of bounds
base::Result<StudyLotsReport> studyLots(const StudyFile& file, const stats::LotOptions& options);
std::string studyLotsJson(const StudyLotsReport& report);
std::string studyLotsTable(const StudyLotsReport& report);
/// The differences against the current lot's results, in percent or, where only an absolute difference is allowed, in units.
report::PlotScene studyLotsPlot(const StudyLotsReport& report);

/// Adds `lots` to the studies; parameters as for addStudyCommands. Exit status 1 when an allowance is not met.
void addStudyLots(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
