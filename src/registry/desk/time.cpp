// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/time.h"

#include "registry/acts/free_text.h"
#include "registry/control/late_entry.h"
#include "registry/desk/refusal.h"
#include "registry/desk/known.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;

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
        return refuse(Refusal::KeptInTheFuture, *kept, now);
    const bool mayLieAhead = std::holds_alternative<acts::PolicyChanged>(act); // its effective date
    if (time && !mayLieAhead && *time > (desk.occasion.imported ? now : latestTimeOf(act, kept.value_or(now))))
        return refuse(Refusal::TimeInTheFuture, *time, now);
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
    if (const Done may = onlyCoordinator(**person, Refusal::CoordinatorAcceptsLateEntries); !may)
        return may;
    const auto runs = desk.facts.runs(a.set);
    if (!runs)
        return runs.error();
    if (runs->empty())
        return refuse(Refusal::SetUnknown, a.set.value);
    if (!std::ranges::any_of(*runs, [](const RunRecord& run) { return needsAcceptance(run); }))
        return refuse(Refusal::SetNeedsNoAcceptance, a.set.value);
    const auto earlier = desk.facts.facts<acts::LateEntryAccepted>(a.set.value);
    if (!earlier)
        return earlier.error();
    if (!earlier->empty())
        return refuse(Refusal::SetAcceptedAlready, a.set.value, earlier->front().seq);
    return {};
}

} // namespace mk::registry::desk
