// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/glucose_concentration.h"
#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/compare/error_grid.h"

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// consensus   one of the two consensus grids; clarke   one of the two readings of Clarke's grid; border   for the consensus grid
struct StudyGridOptions {
    stats::ErrorGrid consensus = stats::ErrorGrid::ConsensusType1;
    stats::ErrorGrid clarke = stats::ErrorGrid::ClarkeText;
    stats::GridBorder border = stats::GridBorder::LowerRisk;
    base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl;
};

/// One pair: both numbers as they stand in the file, and its line there.
struct StudyGridPoint {
    std::size_t line = 0;
    std::string reference, test;
};

/// All columns of one length: one entry a pair, in the order of the file.
struct StudyGridReport {
    StudyGridOptions options;
    std::vector<StudyGridPoint> points;
    std::vector<double> reference, test; // in the file's unit
    std::vector<stats::GridZone> consensus, clarke;
    std::vector<std::string> ignoredColumns;
};

/// The zones of every pair of a file.
/// file    columns reference and test
/// errors  BadInput, naming the line: a missing column or cell, no number, a number below 0 or above a million; no rows
base::Result<StudyGridReport> studyGrid(const StudyFile& file, const StudyGridOptions& options);

std::string studyGridJson(const StudyGridReport& report);
std::string studyGridTable(const StudyGridReport& report);
/// Both grids side by side, a mark for each zone.
report::PlotScene studyGridPlot(const StudyGridReport& report);

/// Adds `grid` to the studies; parameters as for addStudyCommands.
void addStudyGrid(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
