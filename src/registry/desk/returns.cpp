// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/returns.h"

#include "base/unread.h"
#include "registry/comparison/comparison.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/notices.h"
#include "registry/desk/stops.h"
#include "registry/meter/meter_life.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;
using base::unread;

namespace {

constexpr int kSetsLookedAt = 10;

/// The person as competent on that model and day.
Result<std::optional<OperatorRecord>> personOf(const Desk& desk, const acts::ReturnStep& step)
{
    const auto person = desk.facts.person(step.by);
    const auto meter = desk.facts.meter(step.meter);
    if (!person || !meter)
        return person ? meter.error() : person.error();
    if (*person == nullptr)
        return std::optional<OperatorRecord>();
    if (*meter == nullptr)
        return std::optional(**person);
    auto onModel = desk.facts.personOnModel(**person, (*meter)->act.model, step.at);
    if (!onModel)
        return onModel.error();
    return std::optional(std::move(onModel).value());
}

/// When the version of the meter's software was last put on record, up to then.
Result<std::optional<Moment>> firmwareNoted(const Desk& desk, const base::MeterId& meter, Moment by)
{
    const auto described = desk.facts.facts<acts::MeterDescribed>(meter.value);
    if (!described)
        return described.error();
    std::optional<Moment> noted;
    for (const auto& each : *described)
        if (each.act.firmware && each.act.at <= by)
            noted = noted ? std::max(*noted, each.act.at) : each.act.at;
    return noted;
}

Result<ReturnEvidence> evidenceFor(const Desk& desk, const acts::ReturnStep& step)
{
    ReturnEvidence evidence;
    const auto state = desk.judging.stateAt(step.meter, desk.effective(step.at));
    auto person = personOf(desk, step);
    const auto noted = firmwareNoted(desk, step.meter, step.at);
    if (!state || !person || !noted)
        return unread("the records of '" + step.meter.value + "'", state, person, noted);
    evidence.state = *state;
    evidence.today = desk.facts.zone().dateOf(step.at);
    evidence.byPerson = !desk.occasion.imported;
    evidence.person = std::move(person).value();
    evidence.firmwareNoted = *noted;
    return evidence;
}

} // namespace

Done admit(const Desk& desk, const acts::ReturnStep& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const auto person = desk.occasion.imported ? needPerson(desk, a.by) : needActive(desk, a.by); !person)
        return person.error();
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    if (const Done notices = needNoticeItems(desk, a); !notices)
        return notices;
    auto evidence = evidenceFor(desk, a);
    const auto open = openStops(desk, a.meter);
    auto incidents = desk.facts.incidents(a.meter);
    auto steps = desk.facts.returnSteps(a.meter);
    auto sets = desk.facts.newestSets(a.meter, a.at, kSetsLookedAt);
    auto pairs = desk.facts.pairs(a.meter);
    if (!evidence || !open || !incidents || !steps || !sets || !pairs)
        return unread("the records of '" + a.meter.value + "'", evidence, open, incidents, steps, sets, pairs);
    std::erase_if(*steps, [&](const ReturnRecord& step) { return step.act.at > a.at; });
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > a.at; });
    evidence->openStops = *open;
    evidence->causes = *incidents;
    evidence->steps = *steps;
    evidence->newestSets = *sets;
    const auto comparisons = comparisonsOf(*pairs, a.at, [&](Moment at) -> const Policy& { return desk.facts.policyAt(at); });
    if (!comparisons.empty())
        evidence->newestPair = standingPair(comparisons.back());
    return mayTakeReturnStep(a, *evidence, desk.facts.policyAt(a.at));
}

Done follow(const Desk& desk, Seq seq, const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed)
        return {};
    desk.judging.forget(step.meter); // a return begins a segment
    return endEveryStop(desk, step.meter, desk.effective(step.at), seq, MeterState::InService);
}

} // namespace mk::registry::desk
