// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/questions.h"

#include <algorithm>

namespace mk::registry {

namespace {

constexpr double kLeastLikelyMg = 10;
constexpr double kMostLikelyMmol = 40;

bool isIn(const acts::RangeAssigned& range, const base::Decimal& value)
{
    return range.low <= value && value <= range.high;
}

bool isFarOutside(const acts::RangeAssigned& range, double value)
{
    const double width = range.high.toDouble() - range.low.toDouble();
    return std::max(range.low.toDouble() - value, value - range.high.toDouble()) > width;
}

/// Of several levels that hold it the lowest, so that the answer does not hang on the order of entries.
const RangeRecord* otherLevelFor(const acts::ControlRun& run, const RangeRecord* own, std::span<const RangeRecord* const> beside)
{
    const auto* number = std::get_if<base::Decimal>(&run.result);
    if (number == nullptr || own == nullptr || own->act.unit != run.unit || !isFarOutside(own->act, number->toDouble()))
        return nullptr;
    const RangeRecord* other = nullptr;
    for (const RangeRecord* each : beside)
        if (each->act.unit == run.unit && isIn(each->act, *number) && (other == nullptr || each->act.level < other->act.level))
            other = each;
    return other;
}

std::string_view otherUnit(base::GlucoseUnit unit)
{
    return base::toText(unit == base::GlucoseUnit::MgPerDl ? base::GlucoseUnit::MmolPerL : base::GlucoseUnit::MgPerDl);
}

} // namespace

std::optional<QuestionKind> unitQuestion(const Reading& result, base::GlucoseUnit unit)
{
    const auto* number = std::get_if<base::Decimal>(&result);
    if (number == nullptr)
        return std::nullopt;
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    if (mg ? number->toDouble() < kLeastLikelyMg : number->toDouble() > kMostLikelyMmol)
        return QuestionKind::OtherUnit;
    const bool point = number->decimals() > 0;
    return point == mg ? std::optional(QuestionKind::Decimal) : std::nullopt;
}

std::vector<RunQuestion> questionsOf(const acts::ControlRun& run, const RangeRecord* own, std::span<const RangeRecord* const> beside)
{
    std::vector<RunQuestion> questions;
    if (const auto kind = unitQuestion(run.result, run.unit))
        questions.push_back({ *kind, run.result, run.unit, run.level });
    if (const RangeRecord* other = otherLevelFor(run, own, beside))
        questions.push_back({ QuestionKind::OtherLevel, run.result, run.unit, run.level, other->act });
    return questions;
}

std::vector<RunQuestion> questionsOf(const acts::ControlRun& run, const RangesOfRun& ranges)
{
    return questionsOf(run, ranges.own, ranges.beside);
}

std::string questionKept(const RunQuestion& question)
{
    if (question.isAboutUnit() || !question.other)
        return "Which unit does the meter show?";
    return "Was it the " + std::string(word(question.level)) + " or the " + std::string(word(question.other->level)) + " control?";
}

std::string answerKept(const RunQuestion& question, bool asGiven)
{
    if (question.isAboutUnit() || !question.other)
        return std::string(asGiven ? base::toText(question.unit) : otherUnit(question.unit));
    return std::string(word(asGiven ? question.level : question.other->level));
}

} // namespace mk::registry
