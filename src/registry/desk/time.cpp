// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/time.h"

#include "registry/acts/free_text.h"
#include "registry/control/late_entry.h"
#include "registry/desk/known.h"

#include <algorithm>

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::Moment;
using base::refused;

namespace {

constexpr int kDeclaredAheadDays = 31;

/// A ward may say beforehand on which days a meter will not be used; nothing else lies ahead of its entry.
Moment latestTimeOf(const Act& act, Moment now)
{
    const auto* incident = std::get_if<acts::IncidentReported>(&act);
    const bool ahead = incident != nullptr && incident->what == IncidentKind::NotInUse
        && (!incident->noticedAt || *incident->noticedAt <= now);
    return ahead ? base::plusMs(now, kDeclaredAheadDays * std::int64_t { 24 * 3'600'000 }) : now;
}

} // namespace

Done mayBeOfThatTime(const Desk& desk, const Act& act)
{
    const auto time = ownTimeOf(act);
    const Moment now = desk.occasion.now;
    const auto& kept = desk.occasion.keptSince;
    if (kept && *kept > now)
        return badInput("it was kept since " + base::toText(*kept) + ", which lies in the future (it is " + base::toText(now)
            + "); check the clock of the workstation");
    const bool mayLieAhead = std::holds_alternative<acts::PolicyChanged>(act); // its effective date
    if (time && !mayLieAhead && *time > (desk.occasion.imported ? now : latestTimeOf(act, kept.value_or(now))))
        return badInput("its time " + base::toText(*time) + " lies in the future (it is " + base::toText(now)
            + "); check the date, and this computer's clock");
    return {};
}

Done mayBeTyped(const Desk& desk, const Act& act)
{
    if (desk.occasion.imported)
        return {};
    if (const Done words = withoutPatientNumbers(act); !words)
        return words;
    const auto* run = std::get_if<acts::ControlRun>(&act);
    const Moment now = desk.occasion.now;
    return run != nullptr ? mayEnterLate(*run, desk.occasion.keptSince.value_or(now), desk.facts.policyAt(now)) : Done();
}

Done admit(const Desk& desk, const acts::LateEntryAccepted& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if (const Done may = onlyCoordinator(**person, "accepts a control that was entered late without its paper"); !may)
        return may;
    const auto runs = desk.facts.runs(a.set);
    if (!runs)
        return runs.error();
    if (runs->empty())
        return notFound("no set is called '" + a.set.value + "'; see the meter's file for its name");
    if (!std::ranges::any_of(*runs, [](const RunRecord& run) { return needsAcceptance(run); }))
        return refused("set '" + a.set.value + "' waits for no acceptance: it was recorded in time, or its paper form is named");
    const auto earlier = desk.facts.facts<acts::LateEntryAccepted>(a.set.value);
    if (!earlier)
        return earlier.error();
    if (!earlier->empty())
        return conflict("set '" + a.set.value + "' was accepted already (entry " + std::to_string(earlier->front().seq.value) + ")");
    return {};
}

} // namespace mk::registry::desk
