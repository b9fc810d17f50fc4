// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "stats/rules/control_rules.h"

#include <optional>
#include <span>
#include <string>
#include <vector>

/// What the judgement of a set is made of, shared by its parts; nobody beside this folder includes it.
namespace mk::registry {

inline constexpr std::size_t kLongestPattern = 12; ///< as far back as the counters reach

std::size_t slot(Level level);
/// Each once.
void appendAll(std::vector<std::string>& into, const std::vector<std::string>& codes);
/// Does the rule tell of what began before the set?
bool isShiftRule(stats::Rule rule);

/// In SD of the target; nothing without one, or where there is no number.
std::optional<stats::ControlScore> scoreOf(const Reading& result, const acts::JudgedRun& judged);
std::optional<stats::ControlScore> targetScoreOf(const RunRecord& record);
/// Against the meter's usual value, where there is one; a whole limit is kept to 1e-9. HI and LO are rejected by kind and fire no rule.
std::optional<stats::ControlScore> usualScoreOf(const RunRecord& record);

using ScoreOf = std::optional<stats::ControlScore> (*)(const RunRecord&);
/// Of the results that count, levels ascending.
std::vector<stats::LevelScore> countedScores(std::span<const RunRecord> runs, ScoreOf score = targetScoreOf);

} // namespace mk::registry
