// SPDX-License-Identifier: GPL-3.0-or-later
// How long a set clears a meter and from when on it speaks; times in words.
#include "registry/control/control_set.h"
#include "registry/meter/fitness.h"

#include <algorithm>
#include <array>

namespace mk::registry {

namespace {

constexpr std::int64_t kHourMs = 3'600'000;

} // namespace

base::Moment clearedUntil(base::Moment acceptedAt, const Policy& policy, const Zone& zone)
{
    const std::int64_t grace = policy.graceMinutes * std::int64_t { 60'000 };
    if (policy.shiftBoundaryMinutes.empty() && policy.clearance == Policy::Clearance::Elapsed)
        return zone.at(acceptedAt.utcMs + policy.clearanceHours * kHourMs + grace);
    // The next boundary of the laboratory day, or of the shifts, after the set, as the wall clock shows it.
    const std::vector<int> boundaries = policy.shiftBoundaryMinutes.empty() ? std::vector { policy.dayBoundaryMinutes }
                                                                            : policy.shiftBoundaryMinutes;
    base::Date day = zone.dateOf(acceptedAt);
    for (int i = 0; i < 3; ++i, day = base::addDays(day, 1))
        for (const int minutes : boundaries) {
            const base::Moment boundary = zone.resolve({ day, minutes * 60'000 }).first;
            if (boundary > acceptedAt)
                return zone.at(boundary.utcMs + grace);
        }
    return zone.endOf(day);
}

base::Moment clearedUntil(const SetRecord& accepted, const Policy& policy, const Zone& zone)
{
    const base::Moment until = clearedUntil(accepted.judged.lastAt, policy, zone);
    const auto& usual = accepted.judged.drift.usual;
    if (!usual || !usual->told)
        return until;
    const std::int64_t ms = policy.toldControlHours * kHourMs + policy.graceMinutes * std::int64_t { 60'000 };
    return std::min(until, zone.at(accepted.judged.lastAt.utcMs + ms));
}

base::Moment later(base::Moment from, base::Period period, const Zone& zone)
{
    const base::WallTime wall = base::wallOf(zone.at(from.utcMs));
    return zone.resolve({ base::lastUsableDay(wall.date, period), wall.millisecondOfDay }).first;
}

base::Moment clearsSince(const SetRecord& set)
{
    std::array<std::optional<base::Moment>, 3> newest;
    for (const auto& run : set.runs) {
        auto& of = newest[static_cast<std::size_t>(run.run.level)];
        of = of ? std::max(*of, run.run.at) : run.run.at;
    }
    base::Moment since = set.judged.lastAt;
    for (const auto& each : newest)
        if (each)
            since = std::min(since, *each);
    return since;
}

void addIncidents(MeterHistory& history, std::span<const IncidentRecord> incidents, base::Moment at, const Policy& policy)
{
    std::optional<IncidentRecord> soiled, cleaned;
    for (const auto& incident : incidents) {
        if (incident.act.at > at)
            continue;
        if (incident.act.what == IncidentKind::Soiled)
            soiled = incident;
        else if (incident.act.what == IncidentKind::Cleaned)
            cleaned = incident;
        else if (incident.act.what == IncidentKind::ErrorCode && incident.act.at.utcMs > at.utcMs - policy.errorCodeHours * kHourMs)
            history.errorCodes.push_back(incident.act.at);
        const bool sinceAccepted = !history.newestAccepted || incident.act.at >= clearsSince(*history.newestAccepted);
        const bool stops = std::ranges::any_of(
            history.openStops, [&](const StopRecord& stop) { return stop.stop.because == incident.seq; });
        if (sinceAccepted || stops)
            history.incidents.push_back(incident);
    }
    for (const auto& each : { soiled, cleaned })
        if (each)
            history.cleanings.push_back(*each);
    std::ranges::sort(history.errorCodes);
}

SetRecord setUpTo(SetRecord set, base::Moment at, const Policy& policy)
{
    if (set.judged.lastAt <= at)
        return set;
    std::erase_if(set.runs, [&](const RunRecord& run) { return run.run.at > at; });
    if (!set.runs.empty())
        set.judged.lastAt = set.runs.back().run.at;
    set.judged.verdict = verdictOf(set.runs, policy);
    return set;
}

} // namespace mk::registry
