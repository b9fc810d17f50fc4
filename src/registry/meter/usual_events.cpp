// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/usual_events.h"

#include <algorithm>
#include <utility>

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

base::Result<std::vector<UsualEvent>> usualEvents(Facts& facts, const base::MeterId& meter, std::span<const SegmentBoundary> boundaries,
    std::span<const base::Moment> taken, base::Moment after, base::Moment upTo)
{
    const auto between = [&](base::Moment at) { return at > after && at <= upTo; };
    std::vector<std::pair<base::Moment, UsualEvent>> events;
    for (const auto& each : taken)
        if (between(each))
            events.emplace_back(each, UsualEvent::Accept);
    for (const auto& boundary : boundaries) {
        if (!between(boundary.at))
            continue;
        if (!boundary.returned) {
            events.emplace_back(boundary.at, UsualEvent::Restart);
            continue;
        }
        const auto spells = facts.states(meter);
        const auto steps = facts.returnSteps(meter);
        if (!spells || !steps)
            return spells ? steps.error() : spells.error();
        events.emplace_back(boundary.at, eventOfReturn(boundary.at, *spells, *steps));
    }
    std::ranges::stable_sort(events, {}, &std::pair<base::Moment, UsualEvent>::first);
    std::vector<UsualEvent> inOrder;
    for (const auto& [at, event] : events)
        inOrder.push_back(event);
    return inOrder;
}

} // namespace mk::registry
