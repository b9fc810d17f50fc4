// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "base/glucose_concentration.h"
#include "report/drawing/study_plot.h"
#include "stats/drift/own_usual.h"
#include "study/table/input.h"

#include <string>
#include <vector>

namespace mk::study {

struct StudyUsualOptions {
    stats::UsualSettings settings;
    base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl;
};

/// One meter after each of its sets.
/// began    name of the set at which the sum that is told of left 0; empty: not told
/// levels   of those seen so far
struct StudyUsualSet {
    struct Level {
        std::size_t level = 0;
        std::int64_t n = 0;
        double usual = 0;
        std::optional<double> newest;
        double slow = 0;
    };
    std::string set;
    double score = 0, up = 0, down = 0;
    stats::Way told = stats::Way::None;
    std::string began;
    bool stopped = false, apart = false;
    std::vector<Level> levels;
};

struct StudyUsualReport {
    StudyUsualOptions options;
    std::vector<StudyUsualSet> sets;
    std::vector<std::string> ignoredColumns;
};

/// Is it a file of sets with their bases, which the meter's own usual value is judged by?
bool holdsUsualSets(const StudyFile& file);

/// One meter against its own usual value, the group alone as its measure: the others' middle is 0, and nobody is asked about the lot.
/// file    columns set, level, value, base, cv_percent; rows of a set stand together; level act with value restart or accept happens
///         before the set of its row
/// errors  BadInput: a cell, with its line; a level twice in a set; no rows
base::Result<StudyUsualReport> studyUsual(const StudyFile& file, const StudyUsualOptions& options);
std::string studyUsualJson(const StudyUsualReport& report);
std::string studyUsualTable(const StudyUsualReport& report);
/// The newest means with the usual values above, both sums below.
report::PlotScene studyUsualPlot(const StudyUsualReport& report);

} // namespace mk::study
