// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/climbs.h"

#include "registry/meter/fitness.h"

#include <algorithm>
#include <utility>

namespace mk::registry {

using base::Done;
using base::Moment;
using base::Result;

namespace {

/// Technique checks that people made of themselves; an observer's look at somebody is no step of the ladder.
Result<std::vector<Moment>> techniqueChecksOf(Facts& facts, const base::MeterId& meter)
{
    const auto checks = facts.facts<acts::TechniqueChecked>(meter.value);
    if (!checks)
        return checks.error();
    std::vector<Moment> times;
    for (const auto& check : *checks)
        if (!check.act.observed)
            times.push_back(check.act.at);
    std::ranges::sort(times);
    return times;
}

/// The moment after which sets belong to the climb: the last accepted set by then, or a way back through acceptance.
Result<Moment> climbBegins(Facts& facts, const base::MeterId& meter, Moment by)
{
    const auto accepted = facts.newestAcceptedSet(meter, by);
    const auto states = facts.states(meter);
    if (!accepted || !states)
        return accepted ? states.error() : accepted.error();
    Moment begin = *accepted ? base::plusMs((*accepted)->judged.lastAt, 1) : base::kBeginningOfTime;
    for (const auto& spell : *states)
        if (spell.state == MeterState::Acceptance && spell.since <= by)
            begin = std::max(begin, spell.since);
    return begin;
}

} // namespace

Result<Ladder> ladderAt(Facts& facts, const base::MeterId& meter, Moment at)
{
    const auto begin = climbBegins(facts, meter, at);
    if (!begin)
        return begin.error();
    const auto sets = facts.sets(meter, *begin, at);
    const auto checks = techniqueChecksOf(facts, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    return climb(*sets, *checks);
}

Result<Ladder> ladderEndedBy(Facts& facts, const SetRecord& accepted)
{
    const base::MeterId& meter = accepted.judged.meter;
    const auto begin = climbBegins(facts, meter, base::plusMs(accepted.judged.firstAt, -1));
    if (!begin)
        return begin.error();
    auto sets = facts.sets(meter, *begin, accepted.judged.lastAt);
    const auto checks = techniqueChecksOf(facts, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.set == accepted.judged.set; });
    sets->push_back(accepted);
    return climb(*sets, *checks);
}

Result<std::vector<Ladder>> climbsOf(Facts& facts, const base::MeterId& meter, Moment from, Moment to)
{
    const auto begin = climbBegins(facts, meter, from);
    if (!begin)
        return begin.error();
    const auto sets = facts.sets(meter, *begin, to);
    const auto checks = techniqueChecksOf(facts, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    return climbsIn(*sets, *checks);
}

Done historyOfLadder(Facts& facts, MeterHistory& history, Moment at)
{
    if (!history.newestSet)
        return {};
    const SetRecord newest = setUpTo(*history.newestSet, at, facts.policyAt(at));
    if (isAccepted(newest))
        return {};
    const base::MeterId& meter = history.meter.act.meter;
    const auto begin = climbBegins(facts, meter, at);
    const auto checks = techniqueChecksOf(facts, meter);
    auto sets = begin ? facts.sets(meter, *begin, at) : Result<std::vector<SetRecord>>(begin.error());
    if (!checks || !sets)
        return checks ? sets.error() : checks.error();
    if (newest.judged.lastAt >= *begin && (sets->empty() || sets->back().judged.set != newest.judged.set))
        sets->push_back(newest); // some of its runs came later
    std::vector<Moment> before;
    std::ranges::copy_if(*checks, std::back_inserter(before), [&](Moment check) { return check <= at; });
    Ladder ladder = climb(*sets, before);
    if (ladder.step > 0)
        history.ladder = std::move(ladder);
    return {};
}

} // namespace mk::registry
