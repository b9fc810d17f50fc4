// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/control_scores.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

std::size_t slot(Level level)
{
    return static_cast<std::size_t>(level);
}

void appendAll(std::vector<std::string>& into, const std::vector<std::string>& codes)
{
    for (const auto& code : codes)
        if (std::ranges::find(into, code) == into.end())
            into.push_back(code);
}

bool isShiftRule(stats::Rule rule)
{
    return stats::rowOf(rule).tells != stats::RuleTells::BadSet;
}

std::optional<stats::ControlScore> scoreOf(const Reading& result, const acts::JudgedRun& judged)
{
    if (!judged.mean || !judged.sd || judged.sd->mantissa() <= 0)
        return std::nullopt;
    if (const auto* number = std::get_if<base::Decimal>(&result))
        return stats::ControlScore::of(*number, *judged.mean, *judged.sd);
    if (std::holds_alternative<High>(result))
        return stats::ControlScore::aboveAll();
    if (std::holds_alternative<Low>(result))
        return stats::ControlScore::belowAll();
    return std::nullopt;
}

std::optional<stats::ControlScore> usualScoreOf(const RunRecord& record)
{
    constexpr double kOnLimit = 1e-9;
    if (!std::holds_alternative<base::Decimal>(record.run.result))
        return std::nullopt;
    if (!record.judged.u)
        return scoreOf(record.run.result, record.judged);
    const double whole = std::round(*record.judged.u);
    return stats::ControlScore::ofZ(std::abs(*record.judged.u - whole) < kOnLimit ? whole : *record.judged.u);
}

std::optional<stats::ControlScore> targetScoreOf(const RunRecord& record)
{
    return scoreOf(record.run.result, record.judged);
}

std::vector<stats::LevelScore> countedScores(std::span<const RunRecord> runs, ScoreOf score)
{
    std::vector<stats::LevelScore> scores;
    for (const auto& record : runs)
        if (record.judged.counted)
            if (const auto each = score(record))
                scores.push_back({ slot(record.run.level), *each });
    std::ranges::sort(scores, {}, &stats::LevelScore::level);
    return scores;
}

} // namespace mk::registry
