// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"
#include "report/drawing/study_plot.h"
#include "stats/rules/control_rules.h"

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// What a rule's firing does to its set.
enum class StudyRole { Warn, Reject };

struct StudyRule {
    stats::Rule rule = stats::Rule::OneTwoS;
    StudyRole role = StudyRole::Reject;
};

inline constexpr const char* kStudyDefaultRules = "1-2s:warn,1-3s,2-2s,R-4s,4-1s,10x";

/// input   rules as they are written, separated by commas, each with :warn or :reject behind it; no role is reject
/// errors  BadInput: no rule, an unknown one, one that stands twice, an unknown role
base::Result<std::vector<StudyRule>> parseStudyRules(std::string_view text);

/// How a set, or one result in it, stands.
enum class StudyVerdict { Accepted, Warned, Rejected };
std::string_view toText(StudyVerdict verdict);

/// What the rules said about one set.
/// set     views the file's own text
/// fired   bit i: the rule that was asked for as number i, from 0
struct StudySetVerdict {
    std::string_view set;
    StudyVerdict verdict = StudyVerdict::Accepted;
    stats::RuleMask fired = 0;
    bool restarts = false; ///< every count starts again before it
};

/// One result as the plot shows it. set, level: indices in the report
/// standing   what fired on this level's own sequence, or across the levels of its set
struct StudyRulePoint {
    std::size_t set = 0;
    std::size_t level = 0;
    double z = 0;
    StudyVerdict standing = StudyVerdict::Accepted;
};

/// It views the texts of the file that it was made from.
struct StudyRulesReport {
    std::vector<StudyRule> rules;
    std::vector<std::string_view> levels; // in the order of their first row: a complete set has them all
    std::vector<StudySetVerdict> sets;
    std::vector<StudyRulePoint> points; // in the order of the file
    std::size_t accepted = 0;
    std::size_t warned = 0;
    std::size_t rejected = 0;
    std::vector<std::string> ignoredColumns;
};

/// Applies the rules to every set of a file, in its order, no count ever reset by a rejection.
/// file    columns set, level and z, or set, level, value, mean and sd; with both, z is read. A column restart may say yes in a row of
///         a set before which every count starts again (a repair, a new target)
/// errors  BadInput, naming the line: a missing column or cell, no number, an SD that is not above 0, a set whose rows do not stand
///         together, a level twice in a set
base::Result<StudyRulesReport> studyRules(
    const StudyFile& file, const std::vector<StudyRule>& rules, stats::OnLimit onLimit, stats::RangeReading rangeReading);

std::string studyRulesJson(const StudyRulesReport& report);
std::string studyRulesTable(const StudyRulesReport& report);
/// A control chart: a panel a level, scores against the number of the set.
report::PlotScene studyRulesPlot(const StudyRulesReport& report);

/// Adds `rules` to the studies; parameters as for addStudyCommands.
void addStudyRules(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
