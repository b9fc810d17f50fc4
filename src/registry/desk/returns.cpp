// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/returns.h"

#include "base/unread.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/mending.h"
#include "registry/desk/second_person.h"
#include "registry/desk/notices.h"
#include "registry/desk/stops.h"
#include "registry/meter/return_owed.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Result;
using base::Seq;
using base::unread;

namespace {

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

} // namespace

Done admit(const Desk& desk, const acts::ReturnStep& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const auto person = desk.occasion.imported ? needPerson(desk, a.by) : needActive(desk, a.by); !person)
        return person.error();
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    return mayStepBack(desk, a);
}

Done mayStepBack(const Desk& desk, const acts::ReturnStep& a)
{
    if (const Done notices = needNoticeItems(desk, a); !notices)
        return notices;
    if (const Done mended = mayNotSignOwnMending(desk, a); !mended)
        return mended;
    const auto file = returnFileOf(desk.facts, a.meter, a.at);
    const auto open = openStops(desk, a.meter);
    const auto state = desk.judging.stateAt(a.meter, desk.effective(a.at));
    auto person = personOf(desk, a);
    if (!file || !open || !state || !person)
        return unread("the records of '%1' cannot be read; run verify", a.meter.value, file, open, state, person);
    ReturnEvidence evidence = file->evidence();
    evidence.state = *state;
    evidence.openStops = *open; // also one that is dated later: the signature would end it
    evidence.person = std::move(person).value();
    evidence.today = desk.facts.zone().dateOf(a.at);
    evidence.byPerson = !desk.occasion.imported;
    if (desk.occasion.imported && file->withdrawalTakenOver)
        evidence.withdrawnForDrift = false;
    return mayTakeReturnStep(a, evidence, desk.facts.policyAt(a.at));
}

Done follow(const Desk& desk, Seq seq, const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed)
        return {};
    desk.judging.forget(step.meter); // a return begins a segment
    return endEveryStop(desk, step.meter, desk.effective(step.at), seq, MeterState::InService);
}

} // namespace mk::registry::desk
