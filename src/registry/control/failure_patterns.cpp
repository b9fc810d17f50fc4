// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/failure_patterns.h"

#include <algorithm>
#include <functional>
#include <map>

namespace mk::registry {

namespace {

constexpr std::int64_t kPatternMs = kPatternDays * std::int64_t { 86'400'000 };

/// One vial or one meter lies behind all of them: then nothing points to whoever happened to run them.
bool oneThingExplains(const std::vector<FailedFirst>& failures)
{
    const auto same = [&](auto member) {
        return std::ranges::all_of(failures, [&](const FailedFirst& f) { return f.*member == failures.front().*member; });
    };
    return same(&FailedFirst::meter) || same(&FailedFirst::stripVial) || same(&FailedFirst::controlVial);
}

} // namespace

std::vector<FailurePattern> failurePatterns(std::span<const FailedFirst> failures, std::span<const Ladder> climbs, base::Moment at)
{
    const std::pair<FailureSubject, std::function<std::string(const FailedFirst&)>> kKinds[] = {
        { FailureSubject::Meter, [](const FailedFirst& f) { return f.meter.value; } },
        { FailureSubject::StripVial, [](const FailedFirst& f) { return f.stripVial.value; } },
        { FailureSubject::ControlVial, [](const FailedFirst& f) { return f.controlVial.value; } },
        { FailureSubject::Operator, [](const FailedFirst& f) { return f.by.value; } },
    };
    std::vector<FailurePattern> patterns;
    for (const auto& [kind, idOf] : kKinds) {
        std::map<std::string, std::vector<FailedFirst>> byId;
        for (const auto& failure : failures)
            if (failure.at <= at && failure.at.utcMs > at.utcMs - kPatternMs)
                byId[idOf(failure)].push_back(failure);
        for (const auto& [id, its] : byId) {
            const int count = static_cast<int>(its.size());
            if (count < kPatternFailures || (kind == FailureSubject::Operator && oneThingExplains(its)))
                continue;
            patterns.push_back({ kind, id, count, std::ranges::max_element(its, {}, &FailedFirst::at)->at });
        }
    }
    for (const auto& ladder : climbs)
        if (ladder.passed && ladder.acceptedSet && ladder.rounds >= kLatePassAttempts)
            patterns.push_back(
                { FailureSubject::LatePass, ladder.acceptedSet->value, ladder.rounds, ladder.endedAt.value_or(ladder.attempts.back().at) });
    return patterns;
}

} // namespace mk::registry
