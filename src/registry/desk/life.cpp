// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/life.h"

#include "base/unread.h"
#include "registry/comparison/comparison.h"
#include "registry/control/usual_drift.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/notices.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/returns.h"
#include "registry/desk/stops.h"
#include "registry/meter/meter_life.h"
#include "registry/desk/refusal.h"
#include "registry/meter/movement.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

constexpr int kSetsForPapers = 10;

/// Whoever sets up a registry that has no coordinator yet may enrol meters; later the coordinator does.
Done mayEnrol(const Desk& desk, const acts::MeterEnrolled& a)
{
    const auto author = desk.facts.person(desk.occasion.author);
    if (!author)
        return author.error();
    const auto people = desk.facts.people();
    if (!people)
        return people.error();
    const bool led = std::ranges::any_of(*people, [](const OperatorRecord& each) { return each.act.role == Role::Coordinator; });
    if (led && *author != nullptr && (*author)->act.role != Role::Coordinator)
        return refuse(Refusal::RoleMayNotEnrol, (*author)->act.role);
    if (a.state == MeterState::Received && (!a.serial || a.serial->empty()))
        return refuse(Refusal::SerialMissing);
    return {};
}

Done mayHaveUdi(const Desk& desk, const acts::MeterDescribed& a)
{
    if (!a.udi)
        return {};
    const auto same = desk.facts.metersCalled(*a.udi);
    if (!same)
        return same.error();
    for (const auto& [meter, how] : *same)
        if (how == "udi" && meter != a.meter)
            return refuse(Refusal::UdiKnown, meter.value);
    return {};
}

/// A change of version is an event first: it stops the meter and begins its statistics anew.
Done mayHaveFirmware(const Desk& desk, const acts::MeterDescribed& a)
{
    if (!a.firmware)
        return {};
    const auto known = desk.facts.facts<acts::MeterDescribed>(a.meter.value);
    const auto incidents = desk.facts.incidents(a.meter);
    if (!known || !incidents)
        return known ? incidents.error() : known.error();
    const auto last = std::find_if(known->rbegin(), known->rend(), [](const auto& each) { return each.act.firmware.has_value(); });
    const bool updated = last == known->rend() || std::ranges::any_of(*incidents, [&](const IncidentRecord& incident) {
        return incident.act.what == IncidentKind::SoftwareUpdated && incident.act.at >= last->act.at;
    });
    if (updated || *last->act.firmware == *a.firmware)
        return {};
    return refuse(Refusal::FirmwareWithoutUpdate, a.meter.value, *last->act.firmware);
}

Done mayGoToWard(const Desk& desk, const acts::MeterMoved& movement)
{
    if (!movement.toWard)
        return {};
    if (const Done known = needWard(desk, *movement.toWard); !known || desk.occasion.imported)
        return known;
    const auto ward = desk.facts.wardAt(movement.meter, desk.effective(movement.at));
    if (!ward)
        return ward.error();
    return *ward == *movement.toWard ? Done(refuse(Refusal::OnThatWardAlready, movement.meter.value, ward->value)) : Done();
}

Done papersAreThere(const Desk& desk, const acts::MeterMoved& movement, MeterState state)
{
    MovementEvidence evidence;
    evidence.state = state;
    evidence.at = desk.effective(movement.at);
    const auto spell = desk.facts.stateAt(movement.meter, evidence.at);
    const auto model = modelOfMeter(desk, movement.meter);
    const auto described = desk.facts.facts<acts::MeterDescribed>(movement.meter.value);
    const auto checks = desk.facts.facts<acts::AcceptanceChecked>(movement.meter.value);
    auto sets = desk.facts.newestSets(movement.meter, evidence.at, kSetsForPapers);
    const auto pairs = desk.facts.pairs(movement.meter);
    const auto incidents = desk.facts.incidents(movement.meter);
    if (!spell || !model || !described || !checks || !sets || !pairs || !incidents)
        return base::unread("the records of '%1' cannot be read; run verify", movement.meter.value, spell, model, described, checks, sets,
            pairs, incidents);
    if (*spell)
        evidence.since = (*spell)->since;
    if (*model != nullptr)
        evidence.model = **model;
    evidence.insertKnown = std::ranges::any_of(*described, [](const auto& each) { return each.act.insert.has_value(); });
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > evidence.at; });
    evidence.checks = *checks;
    evidence.newestSets = *sets;
    evidence.pairs = *pairs;
    evidence.incidents = *incidents;
    return papersSuffice(movement, evidence, desk.facts.policyAt(evidence.at), desk.facts.zone());
}

/// What another room refuses with a sentence of its own, with the meter that it speaks of.
Done ofMeter(const base::MeterId& meter, const base::Fault& fault)
{
    const bool itsOwn = fault.kind == FaultKind::Refused && !fault.text.empty();
    return itsOwn ? base::refused("%1: %2", meter.value, fault) : fault;
}

Done mayChangeState(const Desk& desk, const acts::MeterMoved& a, Role role)
{
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    const auto state = desk.judging.stateAt(a.meter, desk.effective(a.at));
    if (!state)
        return state.error();
    if (const Done may = mayMove(*state, *a.toState, role); !may)
        return ofMeter(a.meter, may.error());
    // Back to reserve asks what a signature back into service asks (T8).
    if (*state == MeterState::Withdrawn && *a.toState == MeterState::Reserve)
        return mayStepBack(desk, { a.at, a.meter, a.by, ReturnStepKind::Signed, a.reason });
    if (desk.occasion.imported)
        return {};
    const Done papers = papersAreThere(desk, a, *state);
    return papers ? papers : ofMeter(a.meter, papers.error());
}

Done followStopByHand(const Desk& desk, Seq seq, const acts::MeterMoved& movement, Moment at)
{
    const auto state = desk.judging.stateAt(movement.meter, at);
    if (!state)
        return state.error();
    const bool found = !desk.occasion.imported && *state == MeterState::Missing;
    const bool withdrawn = *movement.toState == MeterState::Withdrawn;
    const auto stopped = desk.enter(acts::MeterStopped {
        movement.meter, at, withdrawn, std::string(word(found ? StopOnly::Found : StopOnly::Movement)), seq, true, "operator" });
    if (!stopped)
        return stopped.error();
    return withdrawn && !found ? lookBackOnWithdrawal(desk, movement.meter, at, *stopped) : Done();
}

} // namespace

Done admit(const Desk&, const acts::ModelAdded& a)
{
    return a.low && a.high && *a.high < *a.low ? Done(refuse(Refusal::MeasuringRangeReversed, a.model.value)) : Done();
}

Done admit(const Desk& desk, const acts::MeterEnrolled& a)
{
    if (const auto model = needModel(desk, a.model); !model)
        return model.error();
    if (const Done ward = needWard(desk, a.ward); !ward)
        return ward;
    if (!desk.occasion.imported)
        if (const Done may = mayEnrol(desk, a); !may)
            return may;
    if (!a.serial)
        return {};
    const auto twin = desk.facts.meterWithSerial(a.model, *a.serial);
    if (!twin)
        return twin.error();
    return !*twin ? Done() : Done(refuse(Refusal::SerialKnown, a.model.value, *a.serial, (*twin)->value));
}

Done admit(const Desk& desk, const acts::MeterDescribed& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const Done may = needCoordinator(desk, a.by, Refusal::RoleMayNotDescribe); !may)
        return may;
    if (!a.maker && !a.udi && !a.firmware && !a.insert && !a.condition && !a.disinfectant && !a.contactTime && !a.claims)
        return refuse(Refusal::NothingSaidOfMeter, a.meter.value);
    if (const Done udi = mayHaveUdi(desk, a); !udi)
        return udi;
    return mayHaveFirmware(desk, a);
}

Done admit(const Desk& desk, const acts::AcceptanceChecked& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const Done may = needCoordinator(desk, a.by, Refusal::RoleMayNotAccept); !may)
        return may;
    const auto state = desk.judging.stateAt(a.meter, desk.effective(a.at));
    if (!state)
        return state.error();
    return *state == MeterState::Acceptance ? Done() : refuse(Refusal::NotInAcceptance, a.meter.value, *state);
}

Done admit(const Desk& desk, const acts::TransferConfirmed& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const auto person = needActive(desk, a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refuse(Refusal::InspectorConfirmsNoTransfer);
    const auto transfer = desk.facts.transferOf(a.meter, desk.effective(a.at));
    if (!transfer)
        return transfer.error();
    if (!*transfer)
        return refuse(Refusal::NoTransfer, a.meter.value);
    if ((*transfer)->to != a.ward)
        return refuse(Refusal::SentToAnotherWard, a.meter.value, (*transfer)->to.value, a.ward.value);
    if ((*transfer)->confirmedBy)
        return refuse(Refusal::TransferConfirmedAlready, a.meter.value, a.ward.value, (*transfer)->confirmedBy->value);
    return {};
}

Done admit(const Desk& desk, const acts::MeterMoved& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const auto person = desk.occasion.imported ? needPerson(desk, a.by) : needActive(desk, a.by);
    if (!person)
        return person.error();
    const Role role = (*person)->act.role;
    if (!a.toState && !a.toWard)
        return refuse(Refusal::MovementNamesNothing);
    if (const Done ward = mayGoToWard(desk, a); !ward)
        return ward;
    if (!a.toState)
        return role == Role::Inspector ? Done(refuse(Refusal::InspectorMovesNoMeter)) : Done();
    const bool accepts = *a.toState == MeterState::InService || *a.toState == MeterState::Reserve;
    if (accepts && !desk.occasion.imported)
        if (const Done notices = noNoticeBars(desk, a.meter); !notices)
            return notices;
    return mayChangeState(desk, a, role);
}

Done follow(const Desk& desk, Seq seq, const acts::MeterMoved& movement)
{
    desk.judging.forget(movement.meter);
    if (!movement.toState)
        return {};
    const Moment at = desk.effective(movement.at);
    if (*movement.toState == MeterState::OnHold || *movement.toState == MeterState::Withdrawn)
        return followStopByHand(desk, seq, movement, at);
    if (*movement.toState != MeterState::InService && *movement.toState != MeterState::Reserve)
        return {};
    const auto open = openStops(desk, movement.meter);
    if (!open)
        return open.error();
    // Acceptance after a repair ends what stopped the meter before.
    return open->empty() ? Done() : endEveryStop(desk, movement.meter, at, seq, *movement.toState);
}

/// The laboratory has to have seen the meter since it was first said to have moved, or to stand apart.
Done admit(const Desk& desk, const acts::TakenAsItStands& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    constexpr int kSetsLookedAt = 400; // a year of daily controls
    const auto sets = desk.facts.newestSets(a.meter, a.at, kSetsLookedAt);
    const auto pairs = desk.facts.pairs(a.meter);
    if (!sets || !pairs)
        return sets ? pairs.error() : sets.error();
    const SetRecord* first = nullptr;
    for (const auto& set : *sets) {
        if (!set.judged.drift.usual || !(set.judged.drift.usual->told || standsApart(*set.judged.drift.usual)))
            break;
        first = &set;
    }
    if (first == nullptr)
        return refuse(Refusal::NothingToTakeAsItStands, a.meter.value);
    const base::Moment since = first->judged.drift.usual->began.value_or(first->judged.lastAt);
    const auto rounds = comparisonsOf(*pairs, a.at, [&](Moment at) -> const Policy& { return desk.facts.policyAt(at); });
    const bool seen = !rounds.empty() && rounds.back().judged.outcome == PairOutcome::Inside && rounds.back().judged.lastAt >= since;
    return seen ? Done() : Done(refuse(Refusal::NotComparedSinceItMoved, a.meter.value, since));
}

Done follow(const Desk& desk, Seq, const acts::TakenAsItStands& a)
{
    desk.judging.forget(a.meter);
    return {};
}

} // namespace mk::registry::desk
