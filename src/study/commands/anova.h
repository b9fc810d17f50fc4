// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/columns.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/precision/anova.h"

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// values, groups   row by row
struct StudyAnovaReport {
    std::vector<double> values;
    StudyLabels groups;
    stats::Anova anova;
    std::vector<std::string> ignoredColumns;
};

/// One-way analysis of variance of a file's columns group and value. Values are subtracted as the decimals they are typed as.
/// errors  BadInput: a cell, with its line; fewer than two groups; no group with two values
base::Result<StudyAnovaReport> studyAnova(const StudyFile& file);
std::string studyAnovaJson(const StudyAnovaReport& report);
std::string studyAnovaTable(const StudyAnovaReport& report);
/// The values by group, with the means of the groups and of all.
report::PlotScene studyAnovaPlot(const StudyAnovaReport& report);

/// Adds `anova` to the studies; parameters as for addStudyCommands.
void addStudyAnova(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
