// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "cli/study_input.h"
#include "stats/control_rules.h"

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace mk::cli {

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

/// What the rules said about one set. verdict: "accepted", "warned" or "rejected"; rules in the order in which they were asked for.
struct StudySetVerdict {
    std::string set;
    std::string verdict;
    std::vector<std::string> rules;
};

struct StudyRulesReport {
    std::vector<std::string> levels; // in the order of their first row: a complete set has them all
    std::vector<StudySetVerdict> sets;
    std::size_t accepted = 0;
    std::size_t warned = 0;
    std::size_t rejected = 0;
    std::vector<std::string> ignoredColumns;
};

/// Applies the rules to every set of a file, in its order, no count ever reset.
/// file    columns set, level and z, or set, level, value, mean and sd; with both, z is read
/// errors  BadInput, naming the line: a missing column or cell, no number, an SD that is not above 0, a set whose rows do not stand
///         together, a level twice in a set
base::Result<StudyRulesReport> studyRules(
    const StudyFile& file, const std::vector<StudyRule>& rules, stats::OnLimit onLimit, stats::RangeReading rangeReading);

std::string studyRulesJson(const StudyRulesReport& report);
std::string studyRulesTable(const StudyRulesReport& report);

} // namespace mk::cli
