// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/run_context.h"

#include <vector>

/// What is asked of a result before it is saved (handbook 4.4, 10.4). The window asks it, `run add` says it, import lists it; nothing here
/// judges, and nothing is relabelled or converted.
namespace mk::registry {

/// other-unit: a number that is likely in the other unit alone. decimal: a point where the unit has none, or none where it has one.
/// other-level: far outside its own level's range and inside that of another level that the ward runs.
enum class QuestionKind { OtherUnit, Decimal, OtherLevel };
template <>
struct Words<QuestionKind> {
    static constexpr std::string_view what = "question";
    static constexpr std::string_view all[] = { "other-unit", "decimal", "other-level" };
};

struct RunQuestion {
    QuestionKind kind {};
    Reading result;
    base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl; ///< in which it was given
    Level level {};                                      ///< as which it was given
    std::optional<acts::RangeAssigned> other {};         ///< other-level: the range that holds it

    /// Which unit the display shows is asked by both of them.
    bool isAboutUnit() const { return kind != QuestionKind::OtherLevel; }
};

/// Of the number alone; also for a comparison, which has no level.
/// mg/dL: below 10 the other unit is likely, else a point is unusual. mmol/L: above 40 the other unit is likely, else no point is unusual.
std::optional<QuestionKind> unitQuestion(const Reading& result, base::GlucoseUnit unit);

/// Everything to ask of a run, the unit first.
/// Far outside: further from the nearest bound than the level's own range is wide; a value just beyond it is an ordinary failure. Ranges in
/// another unit than the run's say nothing; without a range of its own level nothing is far.
std::vector<RunQuestion> questionsOf(const acts::ControlRun& run, const RangesOfRun& ranges);
std::vector<RunQuestion> questionsOf(const acts::ControlRun& run, const RangeRecord* own, std::span<const RangeRecord* const> beside);

/// Question and answer as the run keeps them: plain English, whatever language the window speaks, for the journal knows none.
std::string questionKept(const RunQuestion& question);
std::string answerKept(const RunQuestion& question, bool asGiven);

} // namespace mk::registry
