// SPDX-License-Identifier: GPL-3.0-or-later
// May a run count, what is it worth by its kind and range, and what do the runs of a set say together (handbook 4.2, 4.3)?
#include "registry/control/control_scores.h"
#include "registry/control/control_set.h"
#include "registry/lots/expiry.h"

#include <algorithm>

namespace mk::registry {

namespace {

constexpr std::int64_t kMinute = 60'000;

bool competentOn(const acts::OperatorEnrolled& person, base::Date day)
{
    return person.competentFrom && person.competentUntil && *person.competentFrom <= day && day <= *person.competentUntil;
}

/// A code is owed where the model needs one: the lot must carry it, and a run that notes the code shown must show the same.
bool codeMatches(const acts::ControlRun& run, const RunContext& context)
{
    if (context.model == nullptr || context.model->act.needsCode != YesNo::Yes)
        return true;
    if (context.stripLot == nullptr || !context.stripLot->lot.code)
        return false;
    return !run.codeShown || *run.codeShown == *context.stripLot->lot.code;
}

/// A shift does not go away by one good value: what a shift rule rejected, no repeat answers (handbook 4.6).
bool rejectedAsShift(const acts::JudgedRun& judged, const Policy& policy)
{
    return judged.counted && std::ranges::any_of(judged.rules, [&](const std::string& name) {
        const auto* row = stats::ruleRowNamed(name);
        return row != nullptr && isShiftRule(row->rule) && policy.roleOf(row->rule) == RuleRole::Reject;
    });
}

bool isLastOfLevel(std::span<const RunRecord> runs, std::size_t at)
{
    return std::none_of(runs.begin() + static_cast<std::ptrdiff_t>(at) + 1, runs.end(),
        [&](const RunRecord& later) { return later.run.level == runs[at].run.level; });
}

} // namespace

std::vector<ReasonCode> invalidCauses(const acts::ControlRun& run, const RunContext& context, const Zone& zone)
{
    std::vector<ReasonCode> causes = againstStripVial(context.stripVial, context.stripLot, run.at, zone);
    const auto note = [&](ReasonCode cause) {
        if (std::ranges::find(causes, cause) == causes.end())
            causes.push_back(cause);
    };
    std::ranges::for_each(againstControlVial(context.controlVial, context.controlLot, run.at, zone), note);
    const auto add = [&](bool stands, ReasonCode cause) {
        if (stands)
            note(cause);
    };
    add(context.stripLot != nullptr && context.model != nullptr && context.stripLot->lot.model != context.model->act.model,
        ReasonCode::ModelMismatch);
    add(context.controlLot != nullptr && context.controlLot->lot.level != run.level, ReasonCode::LevelMismatch);
    add(!codeMatches(run, context), ReasonCode::CodeMismatch);
    add(context.model == nullptr || run.unit != context.model->act.unit, ReasonCode::UnitMismatch);
    add(context.range != nullptr && run.unit != context.range->act.unit, ReasonCode::UnitMismatch);
    add(context.range == nullptr, ReasonCode::RangeMissing);
    add(context.person == nullptr || !context.competent.value_or(competentOn(context.person->act, zone.dateOf(run.at))),
        ReasonCode::OperatorNotCompetent);
    add(context.state == MeterState::Received || context.state == MeterState::Missing || context.state == MeterState::Retired,
        ReasonCode::NotInService);
    return causes;
}

acts::JudgedRun judgeRun(const RunToJudge& input, int attempt, const Zone& zone)
{
    const acts::ControlRun& run = *input.run;
    acts::JudgedRun judged;
    judged.run = input.seq;
    judged.level = run.level;
    judged.attempt = attempt;
    if (input.context.stripLot != nullptr)
        judged.stripLot = input.context.stripLot->lot.lot;
    if (input.context.controlLot != nullptr)
        judged.controlLot = input.context.controlLot->lot.lot;
    for (const ReasonCode cause : invalidCauses(run, input.context, zone))
        judged.invalidBecause.emplace_back(code(cause));
    judged.valid = judged.invalidBecause.empty();

    if (input.context.range != nullptr) {
        const acts::RangeAssigned& range = input.context.range->act;
        judged.low = range.low;
        judged.high = range.high;
        judged.mean = range.mean;
        judged.sd = range.sd;
        judged.stage = range.stage.value_or(Stage::Range);
        const auto* number = std::get_if<base::Decimal>(&run.result);
        if (number != nullptr && run.unit == range.unit)
            judged.inRange = range.low <= *number && *number <= range.high;
    }
    const auto score = scoreOf(run.result, judged);
    judged.evaluable = judged.valid && score && judged.stage && *judged.stage != Stage::Range;
    if (judged.evaluable && score->isNumber())
        judged.z = score->z();

    if (!judged.valid)
        judged.verdict = Verdict::Invalid;
    else if (std::holds_alternative<ErrorCode>(run.result))
        judged.verdict = Verdict::Partial;
    else
        judged.verdict = judged.inRange.value_or(false) ? Verdict::Accepted : Verdict::Rejected;
    return judged;
}

Verdict verdictOf(std::span<const RunRecord> runs, const Policy& policy)
{
    if (runs.empty())
        return Verdict::Partial;
    const RunRecord& last = runs.back();
    bool invalid = false;
    bool warned = false;
    std::size_t accepted = 0;
    // What was rejected stays so until a valid result of its level says otherwise: neither an invalid attempt nor an error code does.
    // After a shift rule not even that.
    for (std::size_t i = 0; i < runs.size(); ++i) {
        const bool answered = std::any_of(runs.begin() + static_cast<std::ptrdiff_t>(i) + 1, runs.end(), [&](const RunRecord& later) {
            return later.run.level == runs[i].run.level && later.judged.verdict != Verdict::Invalid
                && later.judged.verdict != Verdict::Partial;
        });
        if (runs[i].judged.verdict == Verdict::Rejected && (!answered || rejectedAsShift(runs[i].judged, policy)))
            return Verdict::Rejected;
    }
    for (std::size_t i = 0; i < runs.size(); ++i) {
        if (!isLastOfLevel(runs, i))
            continue;
        const RunRecord& record = runs[i];
        invalid = invalid || record.judged.verdict == Verdict::Invalid;
        warned = warned || record.judged.verdict == Verdict::Warned;
        const bool holds = isAccepted(record.judged.verdict);
        const bool inWindow = record.run.at.utcMs >= last.run.at.utcMs - policy.setWindowMinutes * kMinute;
        const bool required = std::ranges::find(policy.requiredLevels, record.run.level) != policy.requiredLevels.end();
        if (holds && inWindow && required && record.judged.stripLot == last.judged.stripLot)
            ++accepted;
    }
    if (invalid)
        return Verdict::Invalid;
    if (accepted < policy.requiredLevels.size())
        return Verdict::Partial;
    return warned ? Verdict::Warned : Verdict::Accepted;
}

} // namespace mk::registry
