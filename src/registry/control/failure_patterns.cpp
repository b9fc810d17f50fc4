// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/failure_patterns.h"

#include <algorithm>
#include <functional>
#include <map>

namespace mk::registry {

namespace {

constexpr std::int64_t kPatternMs = kPatternDays * std::int64_t { 86'400'000 };

std::string patternInWords(const std::string& kind, const std::string& id, int count)
{
    const std::string times = std::to_string(count) + " first attempts did not hold in " + std::to_string(kPatternDays) + " days";
    if (kind == "meter")
        return times + " on meter " + id + ". Look at the meter, its vials and its place before the next one.";
    if (kind == "strip-vial")
        return times + " with strip vial " + id + ". Look at how it was stored and when it was opened.";
    if (kind == "control-vial")
        return times + " with control vial " + id + ". Look at its opening, its mixing and its storage.";
    return times + " in runs recorded by " + id + ". A look at the technique together may show what the insert leaves open.";
}

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
    const std::pair<const char*, std::function<std::string(const FailedFirst&)>> kKinds[] = {
        { "meter", [](const FailedFirst& f) { return f.meter.value; } },
        { "strip-vial", [](const FailedFirst& f) { return f.stripVial.value; } },
        { "control-vial", [](const FailedFirst& f) { return f.controlVial.value; } },
        { "operator", [](const FailedFirst& f) { return f.by.value; } },
    };
    std::vector<FailurePattern> patterns;
    for (const auto& [kind, idOf] : kKinds) {
        std::map<std::string, std::vector<FailedFirst>> byId;
        for (const auto& failure : failures)
            if (failure.at <= at && failure.at.utcMs > at.utcMs - kPatternMs)
                byId[idOf(failure)].push_back(failure);
        for (const auto& [id, its] : byId) {
            const int count = static_cast<int>(its.size());
            if (count < kPatternFailures || (std::string_view(kind) == "operator" && oneThingExplains(its)))
                continue;
            patterns.push_back(
                { kind, id, count, std::ranges::max_element(its, {}, &FailedFirst::at)->at, patternInWords(kind, id, count) });
        }
    }
    for (const auto& ladder : climbs)
        if (ladder.passed && ladder.acceptedSet && ladder.rounds >= kLatePassAttempts)
            patterns.push_back({ "late-pass", ladder.acceptedSet->value, ladder.rounds, ladder.endedAt.value_or(ladder.attempts.back().at),
                "Set " + ladder.acceptedSet->value + " was accepted at attempt " + std::to_string(ladder.rounds)
                    + ". Look at what changed between the attempts." });
    return patterns;
}

} // namespace mk::registry
