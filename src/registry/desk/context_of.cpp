// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/context_of.h"

#include "base/unread.h"

namespace mk::registry::desk {

using base::Result;
using base::Seq;
using base::unread;

namespace {

/// Judged by what was on record before the run: what is assessed later changes no verdict.
Result<bool> mayCount(Facts& facts, Seq seq, const acts::ControlRun& run, const OperatorRecord& person, const MeterRecord& meter)
{
    const auto own = facts.competency(person, meter.act.model, run.at, seq);
    if (!own)
        return own.error();
    if (own->state != CompetencyState::Training || !run.supervisor)
        return own->holds();
    const auto supervisor = facts.person(*run.supervisor);
    if (!supervisor)
        return supervisor.error();
    if (*supervisor == nullptr)
        return false;
    const auto theirs = facts.competency(**supervisor, meter.act.model, run.at, seq);
    if (!theirs)
        return theirs.error();
    return theirs->holds();
}

} // namespace

Result<RunContext> contextOf(Facts& facts, Seq seq, const acts::ControlRun& run, MeterState state)
{
    RunContext context;
    const auto meter = facts.meter(run.meter);
    const auto person = facts.person(run.by);
    const auto stripVial = facts.stripVial(run.stripVial);
    const auto controlVial = facts.controlVial(run.controlVial);
    const std::string what = "what run '" + run.set.value + "' names";
    if (!meter || !person || !stripVial || !controlVial)
        return unread(what, meter, person, stripVial, controlVial);
    context.state = state;
    context.person = *person;
    context.stripVial = *stripVial;
    context.controlVial = *controlVial;
    if (*meter != nullptr && *person != nullptr) {
        const auto competent = mayCount(facts, seq, run, **person, **meter);
        if (!competent)
            return competent.error();
        context.competent = *competent;
    }
    const auto model = *meter != nullptr ? facts.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    const auto stripLot = *stripVial != nullptr ? facts.stripLot((*stripVial)->vial.lot) : Result<const StripLotRecord*>(nullptr);
    const auto controlLot = *controlVial != nullptr ? facts.controlLot((*controlVial)->vial.lot) : Result<const ControlLotRecord*>(nullptr);
    if (!model || !stripLot || !controlLot)
        return unread(what, model, stripLot, controlLot);
    context.model = *model;
    context.stripLot = *stripLot;
    context.controlLot = *controlLot;
    if (context.stripLot != nullptr && context.controlLot != nullptr) {
        const auto range = facts.range(context.stripLot->lot.lot, context.controlLot->lot.lot, run.level, run.at, run.meter);
        if (!range)
            return range.error();
        context.range = *range;
    }
    return context;
}

} // namespace mk::registry::desk
