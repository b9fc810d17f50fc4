// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/glucose_concentration.h"
#include "base/result.h"
#include "study/commands/accuracy.h"
#include "study/table/input.h"
#include "study/table/pairs.h"
#include "report/drawing/study_plot.h"
#include "stats/compare/agreement.h"
#include "stats/compare/deming.h"
#include "stats/compare/least_squares.h"
#include "stats/compare/passing_bablok.h"
#include "stats/compare/rank_correlation.h"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// unit         nothing: the numbers are taken as they are, without criteria and grids
/// errorRatio   variance of the reference's error over that of the test's
/// levels       where to tell the bias, in the units of the file
/// confidence   of every interval
/// weighted     also a Deming line for errors of a constant CV, which takes time with the square of the pairs: 20,000 at most
struct StudyCompareOptions {
    std::optional<base::GlucoseUnit> unit;
    double errorRatio = 1;
    std::vector<double> levels;
    double confidence = 0.95;
    StudyPairRules pairs;
    stats::LimitError limitError = stats::LimitError::Full;
    bool weighted = false;
};

/// Test minus reference at a level of the reference, read off Deming's line.
/// percent       of the level; nothing at level 0
/// ci            of the bias; nothing without a jackknife
/// outside       the level lies outside the reference values, so the line is drawn out to it
struct LevelBias {
    double level = 0;
    std::optional<double> bias;
    std::optional<double> percent;
    std::optional<stats::Interval> ci;
    bool outside = false;
};

/// meanPercent   mean of 100 (test - reference) / reference; nothing with a reference of 0
/// worst         which pair differs most, counted from 0 among those compared
/// ranks         Passing and Bablok's rule is for methods that measure the same; where the ranks do not rise together its line means
/// nothing
struct StudyCompareReport {
    StudyCompareOptions options;
    StudyPairs pairs;
    stats::Agreement agreement;
    std::optional<double> meanPercent;
    std::size_t worst = 0;
    stats::Deming deming;
    std::optional<stats::Deming> weightedDeming;
    stats::PassingBablok passingBablok;
    stats::RankCorrelation ranks;
    stats::LeastSquares leastSquares;
    std::vector<LevelBias> biasAt;
    std::optional<StudyAccuracy> accuracy;
    std::vector<std::string> ignoredColumns;

    /// Of two pairs and more: the test does not rise with the reference, so that Passing-Bablok gives no line.
    bool doesNotRise() const { return ranks.tau && !ranks.rises(); }
};

/// From how many pairs on a line is more than indicative: handbook 5.5.
inline constexpr std::size_t kFewestForSureLine = 40;
/// Nothing where the rule gives none, and where the test does not rise with the reference.
std::optional<stats::StraightLine> passingBablokLine(const StudyCompareReport& report);

/// Compares the two columns of a file.
/// errors  BadInput: an option out of its bounds, or a cell, with its line; see readStudyPairs
base::Result<StudyCompareReport> studyCompare(const StudyFile& file, const StudyCompareOptions& options);

std::string studyCompareJson(const StudyCompareReport& report);
std::string studyCompareTable(const StudyCompareReport& report);
/// Differences with bias and limits of agreement; beside them the test against the reference with its lines.
report::PlotScene studyComparePlot(const StudyCompareReport& report);

/// Adds `compare` to the studies; parameters as for addStudyCommands.
void addStudyCompare(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
