// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/failures.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/stops.h"
#include "registry/desk/refusal.h"
#include "registry/meter/climbs.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;

namespace {

std::string meterNames(const std::vector<base::MeterId>& meters)
{
    std::string text;
    for (const auto& meter : meters)
        text += (text.empty() ? "" : ", ") + meter.value;
    return text;
}

/// A vial that proved to be the cause is out of use.
Done endSpentVial(const Desk& desk, const std::string& vial, LadderEnding ending, Moment at)
{
    const bool strip = ending == LadderEnding::StripVial;
    const auto stripVial = desk.facts.stripVial(base::StripVialId(vial));
    const auto controlVial = desk.facts.controlVial(base::ControlVialId(vial));
    if (!stripVial || !controlVial)
        return stripVial ? controlVial.error() : stripVial.error();
    const bool ended = strip ? *stripVial != nullptr && (*stripVial)->ended : *controlVial != nullptr && (*controlVial)->ended;
    if (ended)
        return {};
    const auto seq = desk.enter(
        acts::VialEnded { at, vial, base::OperatorId(desk.person), strip ? VialEndKind::Quarantined : VialEndKind::Discarded });
    if (!seq)
        return seq.error();
    // Runs with it that are entered about an earlier time stay what they are; later ones are judged anew.
    return desk.judging.markLate(vial, base::plusMs(at, 1), *seq, desk.person);
}

/// The vials behind an ending, with the meters that were judged with them, in words.
Result<std::optional<std::string>> scopeOf(const Desk& desk, const std::vector<std::string>& vials)
{
    std::optional<std::string> scope;
    for (const auto& vial : vials) {
        const auto judgedWithIt = desk.facts.metersOnVial(vial);
        if (!judgedWithIt)
            return judgedWithIt.error();
        scope = (scope ? *scope + "; " : std::string()) + "control vial " + vial
            + ", meters judged with it since it was opened: " + meterNames(*judgedWithIt);
    }
    return scope;
}

} // namespace

Done admit(const Desk& desk, const acts::TechniqueChecked& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refuse(Refusal::InspectorChecksNoTechnique);
    if (a.observed)
        if (const auto observed = needPerson(desk, *a.observed); !observed)
            return observed.error();
    return a.found ? checkTechniqueWords(*a.found) : Done();
}

Done follow(const Desk& desk, base::Seq seq, const acts::TechniqueChecked& a)
{
    const bool wrong = a.found && a.found->find_first_not_of(" \t\n") != std::string::npos;
    if (!a.observed || !wrong || desk.occasion.imported)
        return {};
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    const Moment at = desk.effective(a.at);
    const auto doubt = doubtBefore(desk, a.meter, at);
    if (!doubt)
        return doubt.error();
    return openLookback(desk,
        { a.meter, at, doubt->from, std::max(doubt->to, doubt->from), std::string(word(CauseClass::Technique)), seq, {}, {},
            "technique of " + a.observed->value, {} });
}

Result<bool> mayRepeat(const Desk& desk, const acts::ControlRun& run)
{
    const auto sameMaterials = [&](const auto& each) {
        return each.second.level == run.level && each.second.stripVial == run.stripVial && each.second.controlVial == run.controlVial;
    };
    const auto* batch = desk.judging.waitingOn(run.meter);
    const auto waiting = batch == nullptr ? 0 : std::ranges::count_if(batch->runs, sameMaterials);
    const auto fails = desk.judging.fails(run.meter);
    if (!fails)
        return fails.error();
    if (waiting < 2 && !*fails)
        return false;
    // A third of one batch cannot be told from a second one before those before it are judged.
    if (waiting > 0)
        if (const Done settled = desk.judging.settleMeter(run.meter); !settled)
            return settled.error();
    const auto ladder = ladderAt(desk.facts, run.meter, run.at);
    if (!ladder)
        return ladder.error();
    const Done may = mayAttempt(run, *ladder, desk.facts.policyAt(run.at).repeatsPerStep);
    return may ? Result<bool>(true) : may.error();
}

Done followFailure(const Desk& desk, const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto ladder = ladderAt(desk.facts, meter, set.judged.lastAt);
    if (!ladder)
        return ladder.error();
    if (set.judged.shift && !desk.occasion.imported)
        if (const Done opened = openShiftLookback(desk, set, at, "shift", set.seq); !opened)
            return opened;
    if (!ladder->exhaustedBy)
        return {};
    const auto open = openStops(desk, meter);
    if (!open)
        return open.error();
    if (stoppedFor(*open, ReasonCode::LadderExhausted))
        return {};
    const auto withdrawal = stop(desk, meter, at, { ReasonCode::LadderExhausted, set.seq, true });
    if (!withdrawal)
        return withdrawal.error();
    if (!*withdrawal)
        return {}; // not in a state that can be withdrawn
    const auto sets = desk.facts.sets(meter, *ladder->firstFailure, set.judged.lastAt);
    const auto doubt = doubtBefore(desk, meter, *ladder->firstFailure);
    if (!sets || !doubt)
        return sets ? doubt.error() : sets.error();
    return openLookback(desk,
        { meter, at, doubt->from, doubt->to, std::string(code(ReasonCode::LadderExhausted)), **withdrawal, {}, {}, {},
            givenText(errorInWords(*sets)) });
}

Done followPass(const Desk& desk, const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto ladder = ladderEndedBy(desk.facts, set);
    if (!ladder)
        return ladder.error();
    if (!ladder->ending || *ladder->ending == LadderEnding::Exhausted)
        return {};
    if (*ladder->ending == LadderEnding::Random && ladder->shift)
        return {}; // the shift has a look-back of its own, and one good value does not explain it
    for (const auto& vial : ladder->spentVials)
        if (const Done ended = endSpentVial(desk, vial, *ladder->ending, at); !ended)
            return ended;
    const auto climbed = desk.facts.sets(meter, *ladder->firstFailure, set.judged.lastAt);
    const auto doubt = doubtBefore(desk, meter, *ladder->firstFailure);
    if (!climbed || !doubt)
        return climbed ? doubt.error() : climbed.error();
    const auto direction = givenText(errorInWords(*climbed));
    if (*ladder->ending == LadderEnding::StripVial) {
        for (const auto& vial : ladder->spentVials)
            if (const Done opened = openVialLookbacks(
                    desk, { base::StripVialId(vial), meter, *ladder->firstFailure, direction }, at, set.seq);
                !opened)
                return opened;
        return {};
    }
    if (!desk.facts.policyAt(at).lookbackAfterRepeat)
        return {};
    auto scope = scopeOf(desk, ladder->spentVials);
    if (!scope)
        return scope.error();
    return openLookback(desk,
        { meter, at, doubt->from, doubt->to, std::string(word(*ladder->ending)), set.seq, {}, {}, std::move(scope).value(), direction });
}

} // namespace mk::registry::desk
