// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/usual_events.h"

#include "base/unread.h"

#include <algorithm>

namespace mk::registry {

namespace {

/// A meter that came back on a passed comparison, with nothing repaired, is taken as it stands; else it is as new.
UsualEvent eventOfReturn(base::Moment at, std::span<const StateSpell> spells, std::span<const ReturnRecord> steps)
{
    base::Moment stopped = at;
    for (auto spell = spells.rbegin(); spell != spells.rend(); ++spell) {
        if (spell->since >= at)
            continue;
        if (spell->state == MeterState::AtRepair || spell->state == MeterState::Acceptance || spell->state == MeterState::Received)
            return UsualEvent::Restart;
        if (spell->state == MeterState::InService)
            break;
        stopped = spell->since;
    }
    const bool compared = std::ranges::any_of(steps, [&](const ReturnRecord& step) {
        return step.act.step == ReturnStepKind::ComparisonPassed && step.act.at >= stopped && step.act.at <= at;
    });
    return compared ? UsualEvent::Accept : UsualEvent::Restart;
}

} // namespace

base::Result<std::vector<std::pair<base::Moment, UsualEvent>>> usualEventsOf(
    Facts& facts, const base::MeterId& meter, std::span<const SegmentBoundary> boundaries)
{
    const auto taken = facts.facts<acts::TakenAsItStands>(meter.value);
    const bool returned = std::ranges::any_of(boundaries, &SegmentBoundary::returned);
    const auto spells = returned ? facts.states(meter) : base::Result<std::vector<StateSpell>>(std::vector<StateSpell>());
    const auto steps = returned ? facts.returnSteps(meter) : base::Result<std::vector<ReturnRecord>>(std::vector<ReturnRecord>());
    if (!taken || !spells || !steps)
        return base::unread("the records of '%1' cannot be read; run verify", meter.value, taken, spells, steps);
    std::vector<std::pair<base::Moment, UsualEvent>> events;
    for (const auto& boundary : boundaries)
        events.emplace_back(boundary.at, boundary.returned ? eventOfReturn(boundary.at, *spells, *steps) : UsualEvent::Restart);
    for (const auto& each : *taken)
        events.emplace_back(each.act.at, UsualEvent::Accept);
    std::ranges::stable_sort(events, {}, &std::pair<base::Moment, UsualEvent>::first);
    return events;
}

} // namespace mk::registry
