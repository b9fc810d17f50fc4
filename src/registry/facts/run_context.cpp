// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/facts/run_context.h"

#include "registry/lots/assigned_range.h"

#include <algorithm>
#include <set>

namespace mk::registry {

using base::Done;
using base::Result;

namespace {

/// Puts what the facts answer in its place, or hands the fault on.
template <typename T>
Done put(const Result<const T*>& found, const T*& place)
{
    if (!found)
        return found.error();
    place = *found;
    return {};
}

Result<bool> competentFor(
    Facts& facts, const acts::ControlRun& run, const OperatorRecord& person, const base::ModelId& model, base::Seq before)
{
    const auto own = facts.competency(person, model, run.at, before);
    if (!own)
        return own.error();
    if (own->state != CompetencyState::Training || !run.supervisor)
        return own->holds();
    const auto supervisor = facts.person(*run.supervisor);
    if (!supervisor)
        return supervisor.error();
    if (*supervisor == nullptr)
        return false;
    const auto theirs = facts.competency(**supervisor, model, run.at, before);
    return theirs ? Result<bool>(theirs->holds()) : theirs.error();
}

Done addLots(Facts& facts, const acts::ControlRun& run, RunContext& context)
{
    Done done;
    if (context.stripVial != nullptr)
        done = put(facts.stripLot(context.stripVial->vial.lot), context.stripLot);
    if (done && context.controlVial != nullptr)
        done = put(facts.controlLot(context.controlVial->vial.lot), context.controlLot);
    if (done && context.stripLot != nullptr && context.controlLot != nullptr)
        done = put(facts.range(context.stripLot->lot.lot, context.controlLot->lot.lot, run.level, run.at, run.meter), context.range);
    return done;
}

Done addMeterAndPerson(Facts& facts, const acts::ControlRun& run, const ContextKnown& known, RunContext& context)
{
    const auto meter = facts.meter(run.meter);
    if (!meter)
        return meter.error();
    if (known.state) {
        context.state = *known.state;
    } else {
        const auto spells = facts.states(run.meter);
        if (!spells)
            return spells.error();
        context.state = stateIn(*spells, run.at);
    }
    if (*meter == nullptr)
        return {};
    if (context.person != nullptr) {
        const auto competent = competentFor(facts, run, *context.person, (*meter)->act.model, known.before);
        if (!competent)
            return competent.error();
        context.competent = *competent;
    }
    return put(facts.model((*meter)->act.model), context.model);
}

template <typename R>
std::optional<R> copied(const R* record)
{
    return record == nullptr ? std::nullopt : std::optional<R>(*record);
}

template <typename R>
const R* pointed(const std::optional<R>& record)
{
    return record ? &*record : nullptr;
}

} // namespace

MeterState stateIn(std::span<const StateSpell> spells, base::Moment at)
{
    MeterState state = MeterState::Received;
    for (const auto& spell : spells)
        if (spell.since <= at)
            state = spell.state;
    return state;
}

Result<RunContext> contextOf(Facts& facts, const acts::ControlRun& run, const ContextKnown& known)
{
    RunContext context;
    Done done = put(facts.person(run.by), context.person);
    if (done)
        done = put(facts.stripVial(run.stripVial), context.stripVial);
    if (done)
        done = put(facts.controlVial(run.controlVial), context.controlVial);
    if (done)
        done = addMeterAndPerson(facts, run, known, context);
    if (done)
        done = addLots(facts, run, context);
    if (!done)
        return done.error();
    return context;
}

RunContext KeptContext::context() const
{
    return { pointed(model), pointed(person), pointed(stripVial), pointed(stripLot), pointed(controlVial), pointed(controlLot),
        pointed(range), state, competent };
}

KeptContext keptOf(const RunContext& context)
{
    return { copied(context.model), copied(context.person), copied(context.stripVial), copied(context.stripLot),
        copied(context.controlVial), copied(context.controlLot), copied(context.range), context.state, context.competent };
}

Result<RangesOfRun> rangesOf(Facts& facts, const acts::ControlRun& run)
{
    RangesOfRun found;
    const auto stripVial = facts.stripVial(run.stripVial);
    const auto controlVial = facts.controlVial(run.controlVial);
    if (!stripVial || !controlVial)
        return stripVial ? controlVial.error() : stripVial.error();
    if (*stripVial == nullptr)
        return found;
    const auto ranges = facts.ranges((*stripVial)->vial.lot);
    if (!ranges)
        return ranges.error();
    if (*controlVial != nullptr)
        found.own = rangeInForce(**ranges, (*controlVial)->vial.lot, run.level, run.at, run.meter);
    std::set<base::ControlLotId> lots;
    for (const auto& each : **ranges)
        lots.insert(each.act.controlLot);
    for (const Level level : facts.policyAt(run.at).requiredLevels)
        for (const auto& lot : lots)
            if (const auto* beside = level == run.level ? nullptr : rangeInForce(**ranges, lot, level, run.at, run.meter))
                found.beside.push_back(beside);
    return found;
}

} // namespace mk::registry
