// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/life.h"

#include "base/unread.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/stops.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/movement.h"

#include <algorithm>

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::FaultKind;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;

namespace {

constexpr int kSetsLookedAt = 10;

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
        return refused("a " + std::string(word((*author)->act.role)) + " may not enrol a meter; the coordinator does");
    if (a.state == MeterState::Received && (!a.serial || a.serial->empty()))
        return badInput("a delivered meter is enrolled with its serial number; read it from the label and give it with --serial");
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
            return conflict("that UDI is on record for '" + meter.value + "' already; scan the label again");
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
    return refused(a.meter.value + " has version " + *last->act.firmware
        + " on record and no update since; record act incident --kind software-updated first");
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
    return *ward == *movement.toWard ? Done(badInput(movement.meter.value + " is on ward '" + ward->value + "' already; check to_ward"))
                                     : Done();
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
    auto sets = desk.facts.newestSets(movement.meter, evidence.at, kSetsLookedAt);
    const auto pairs = desk.facts.pairs(movement.meter);
    const auto incidents = desk.facts.incidents(movement.meter);
    if (!spell || !model || !described || !checks || !sets || !pairs || !incidents)
        return base::unread("the records of '" + movement.meter.value + "'", spell, model, described, checks, sets, pairs, incidents);
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

Done mayChangeState(const Desk& desk, const acts::MeterMoved& a, Role role)
{
    if (const Done settled = desk.judging.settleMeter(a.meter); !settled)
        return settled;
    const auto state = desk.judging.stateAt(a.meter, desk.effective(a.at));
    if (!state)
        return state.error();
    if (const Done may = mayMove(*state, *a.toState, role); !may)
        return refused(a.meter.value + ": " + may.error().text);
    if (desk.occasion.imported)
        return {};
    const Done papers = papersAreThere(desk, a, *state);
    return papers || papers.error().kind != FaultKind::Refused ? papers : refused(a.meter.value + ": " + papers.error().text);
}

Done followStopByHand(const Desk& desk, Seq seq, const acts::MeterMoved& movement, Moment at)
{
    const auto state = desk.judging.stateAt(movement.meter, at);
    if (!state)
        return state.error();
    const bool found = !desk.occasion.imported && *state == MeterState::Missing;
    const bool withdrawn = *movement.toState == MeterState::Withdrawn;
    const auto stopped = desk.enter(
        acts::MeterStopped { movement.meter, at, withdrawn, found ? "found" : "movement", seq, true, "operator" });
    if (!stopped)
        return stopped.error();
    return withdrawn ? lookBackOnDrift(desk, movement.meter, at, *stopped) : Done();
}

} // namespace

Done admit(const Desk&, const acts::ModelAdded& a)
{
    return a.low && a.high && *a.high < *a.low
        ? Done(badInput("the measuring range of '" + a.model.value + "' ends below its beginning; check low and high"))
        : Done();
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
    return !*twin
        ? Done()
        : Done(conflict("model '" + a.model.value + "' with serial '" + *a.serial + "' is enrolled as '" + (*twin)->value + "' already"));
}

Done admit(const Desk& desk, const acts::MeterDescribed& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const Done may = needCoordinator(desk, a.by, "describe a meter"); !may)
        return may;
    if (!a.maker && !a.udi && !a.firmware && !a.insert && !a.condition && !a.disinfectant && !a.contactTime && !a.claims)
        return badInput("nothing is said about " + a.meter.value + "; give one of its fields, such as --firmware or --insert-edition");
    if (const Done udi = mayHaveUdi(desk, a); !udi)
        return udi;
    return mayHaveFirmware(desk, a);
}

Done admit(const Desk& desk, const acts::AcceptanceChecked& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    if (const Done may = needCoordinator(desk, a.by, "accept a meter"); !may)
        return may;
    const auto state = desk.judging.stateAt(a.meter, desk.effective(a.at));
    if (!state)
        return state.error();
    return *state == MeterState::Acceptance ? Done()
                                            : refused(a.meter.value + " is " + std::string(word(*state))
                                                + ", not in acceptance; begin it with act movement --to-state acceptance");
}

Done admit(const Desk& desk, const acts::TransferConfirmed& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const auto person = needActive(desk, a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refused("an inspector may not confirm a transfer; the receiving ward does");
    const auto transfer = desk.facts.transferOf(a.meter, desk.effective(a.at));
    if (!transfer)
        return transfer.error();
    if (!*transfer)
        return refused("no transfer of " + a.meter.value + " is on record; record it with act movement --to-ward first");
    if ((*transfer)->to != a.ward)
        return refused(a.meter.value + " was sent to ward '" + (*transfer)->to.value + "', not to '" + a.ward.value
            + "'; check the label and the ward");
    if ((*transfer)->confirmedBy)
        return conflict("that " + a.meter.value + " arrived on " + a.ward.value + " is confirmed already (entry "
            + std::to_string((*transfer)->confirmedBy->value) + ")");
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
        return badInput("a movement needs to_state, to_ward or both");
    if (const Done ward = mayGoToWard(desk, a); !ward)
        return ward;
    if (!a.toState)
        return role == Role::Inspector ? Done(refused("an inspector may not move a meter")) : Done();
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

} // namespace mk::registry::desk
