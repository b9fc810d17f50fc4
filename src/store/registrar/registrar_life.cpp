// SPDX-License-Identifier: GPL-3.0-or-later
// The life of a meter: its file, its acceptance, its movements with their papers, its transfers.
#include "registry/meter/movement.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

constexpr int kSetsLookedAt = 10;

} // namespace

template <>
Done ActBatch::check(const acts::MeterEnrolled& a)
{
    const auto model = m_reader.model(a.model);
    if (!model)
        return model.error();
    if (*model == nullptr)
        return Fault { FaultKind::NotFound, "no model is called '" + a.model.value + "'; record it first, or check how it is written" };
    if (const Done ward = needWard(a.ward); !ward)
        return ward;
    if (!m_imported) {
        const auto author = m_reader.person(m_author.person);
        if (!author)
            return author.error();
        const auto people = m_reader.people();
        if (!people)
            return people.error();
        // Whoever sets up a registry that has no coordinator yet may do it.
        const bool led = std::ranges::any_of(*people, [](const OperatorRecord& each) { return each.act.role == Role::Coordinator; });
        if (led && *author != nullptr && (*author)->act.role != Role::Coordinator)
            return refused("a " + std::string(word((*author)->act.role)) + " may not enrol a meter; the coordinator does");
        if (a.state == MeterState::Received && (!a.serial || a.serial->empty()))
            return badInput("a delivered meter is enrolled with its serial number; read it from the label and give it with --serial");
    }
    if (!a.serial)
        return {};
    std::string twin;
    if (const Done read = eachRow(m_session, "SELECT meter FROM meter WHERE model = ? AND serial = ? AND to_seq IS NULL",
            { bound(a.model.value), bound(*a.serial) },
            [&](const Statement& row) {
                twin = row.text(0);
                return Done();
            });
        !read)
        return read;
    return twin.empty() ? Done()
                        : Done(Fault { FaultKind::Conflict,
                            "model '" + a.model.value + "' with serial '" + *a.serial + "' is enrolled as '" + twin + "' already" });
}

template <>
Done ActBatch::check(const acts::MeterDescribed& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const Done may = needCoordinator(a.by, "describe a meter"); !may)
        return may;
    if (!a.maker && !a.udi && !a.firmware && !a.insert && !a.condition && !a.disinfectant && !a.contactTime && !a.claims)
        return badInput("nothing is said about " + a.meter.value + "; give one of its fields, such as --firmware or --insert-edition");
    if (a.udi) {
        const auto same = m_reader.metersCalled(*a.udi);
        if (!same)
            return same.error();
        for (const auto& [meter, how] : *same)
            if (how == "udi" && meter != a.meter)
                return Fault { FaultKind::Conflict, "that UDI is on record for '" + meter.value + "' already; scan the label again" };
    }
    if (!a.firmware)
        return {};
    // A change of version is an event first: it stops the meter and begins its statistics anew.
    const auto known = m_reader.facts<acts::MeterDescribed>(a.meter.value);
    const auto incidents = m_reader.incidents(a.meter);
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

template <>
Done ActBatch::check(const acts::AcceptanceChecked& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const Done may = needCoordinator(a.by, "accept a meter"); !may)
        return may;
    const auto state = stateAt(a.meter, effective(a.at));
    if (!state)
        return state.error();
    return *state == MeterState::Acceptance ? Done()
                                            : refused(a.meter.value + " is " + std::string(word(*state))
                                                + ", not in acceptance; begin it with act movement --to-state acceptance");
}

template <>
Done ActBatch::check(const acts::TransferConfirmed& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    const auto person = needActive(a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refused("an inspector may not confirm a transfer; the receiving ward does");
    const auto transfer = m_reader.transferOf(a.meter, effective(a.at));
    if (!transfer)
        return transfer.error();
    if (!*transfer)
        return refused("no transfer of " + a.meter.value + " is on record; record it with act movement --to-ward first");
    if ((*transfer)->to != a.ward)
        return refused(a.meter.value + " was sent to ward '" + (*transfer)->to.value + "', not to '" + a.ward.value
            + "'; check the label and the ward");
    if ((*transfer)->confirmedBy)
        return Fault { FaultKind::Conflict,
            "that " + a.meter.value + " arrived on " + a.ward.value + " is confirmed already (entry "
                + std::to_string((*transfer)->confirmedBy->value) + ")" };
    return {};
}

Done ActBatch::checkTransfer(const acts::MeterMoved& movement)
{
    const auto ward = m_reader.wardAt(movement.meter, effective(movement.at));
    if (!ward)
        return ward.error();
    return *ward == *movement.toWard ? Done(badInput(movement.meter.value + " is on ward '" + ward->value + "' already; check to_ward"))
                                     : Done();
}

Done ActBatch::checkPapers(const acts::MeterMoved& movement, MeterState state)
{
    MovementEvidence evidence;
    evidence.state = state;
    evidence.at = effective(movement.at);
    const auto spell = m_reader.stateAt(movement.meter, evidence.at);
    const auto meter = m_reader.meter(movement.meter);
    const auto model = meter && *meter != nullptr ? m_reader.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    const auto described = m_reader.facts<acts::MeterDescribed>(movement.meter.value);
    const auto checks = m_reader.facts<acts::AcceptanceChecked>(movement.meter.value);
    auto sets = m_reader.newestSets(movement.meter, evidence.at, kSetsLookedAt);
    const auto pairs = m_reader.pairs(movement.meter);
    const auto incidents = m_reader.incidents(movement.meter);
    if (!spell || !model || !described || !checks || !sets || !pairs || !incidents)
        return unread("the records of '" + movement.meter.value + "'", spell, model, described, checks, sets, pairs, incidents);
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
    return papersSuffice(movement, evidence, m_reader.policyAt(evidence.at), m_reader.zone());
}

template <>
Done ActBatch::check(const acts::MeterMoved& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    const auto person = m_imported ? needPerson(a.by) : needActive(a.by);
    if (!person)
        return person.error();
    if (!a.toState && !a.toWard)
        return badInput("a movement needs to_state, to_ward or both");
    if (a.toWard) {
        if (const Done ward = needWard(*a.toWard); !ward)
            return ward;
        if (!m_imported)
            if (const Done transfer = checkTransfer(a); !transfer)
                return transfer;
    }
    if (!a.toState)
        return (*person)->act.role == Role::Inspector ? Done(refused("an inspector may not move a meter")) : Done();
    if (const Done settled = settleMeter(a.meter); !settled)
        return settled;
    const auto state = stateAt(a.meter, effective(a.at));
    if (!state)
        return state.error();
    if (const Done may = mayMove(*state, *a.toState, (*person)->act.role); !may)
        return refused(a.meter.value + ": " + may.error().text);
    if (m_imported)
        return {};
    const Done papers = checkPapers(a, *state);
    return papers || papers.error().kind != FaultKind::Refused ? papers : refused(a.meter.value + ": " + papers.error().text);
}

/// Handbook 1.5 and CDC: what it was cleaned with, and that it stayed wet as long as the insert says.
Done ActBatch::checkCleaning(const acts::IncidentReported& incident)
{
    const bool says = incident.agent || incident.contactTimeKept;
    if (says && incident.what != IncidentKind::Cleaned)
        return badInput("agent and contact_time_kept belong to the kind cleaned; leave them out or change the kind");
    if (!m_imported && incident.contactTimeKept == YesNo::No)
        return refused("a contact time that was not kept does not disinfect; wet it again for the whole time, then record it");
    return {};
}

/// The person's competency on that day, and what the meter's file says of its software.
Done ActBatch::addStanding(const acts::ReturnStep& step, ReturnEvidence& evidence)
{
    evidence.byPerson = !m_imported;
    const auto meter = m_reader.meter(step.meter);
    if (!meter)
        return meter.error();
    if (evidence.person && *meter != nullptr) {
        auto onModel = m_reader.personOnModel(*evidence.person, (*meter)->act.model, step.at);
        if (!onModel)
            return onModel.error();
        evidence.person = std::move(onModel).value();
    }
    const auto described = m_reader.facts<acts::MeterDescribed>(step.meter.value);
    if (!described)
        return described.error();
    for (const auto& each : *described)
        if (each.act.firmware && each.act.at <= step.at)
            evidence.firmwareNoted = evidence.firmwareNoted ? std::max(*evidence.firmwareNoted, each.act.at) : each.act.at;
    return {};
}

/// Results since the last proof of the right unit wait for a look-back, urgently (handbook 1.5, 10.4).
Done ActBatch::followWrongUnit(Seq seq, const acts::IncidentReported& incident, Moment told)
{
    const auto meter = m_reader.meter(incident.meter);
    const auto accepted = m_reader.newestAcceptedSet(incident.meter, incident.at);
    const auto steps = m_reader.returnSteps(incident.meter);
    const auto checks = m_reader.facts<acts::AcceptanceChecked>(incident.meter.value);
    if (!meter || !accepted || !steps || !checks)
        return unread("the records of '" + incident.meter.value + "'", meter, accepted, steps, checks);
    Moment from = (*meter)->act.enrolled;
    const auto proves = [&](Moment at) {
        if (at <= incident.at)
            from = std::max(from, at);
    };
    if (*accepted)
        proves((*accepted)->judged.lastAt);
    for (const auto& step : *steps)
        if (step.act.step == ReturnStepKind::Inspected)
            proves(step.act.at);
    for (const auto& check : *checks)
        if (check.act.item == AcceptanceItem::UnitAndClock && check.act.met == YesNo::Yes)
            proves(check.act.at);
    return appendConsequence(acts::LookbackOpened { incident.meter, told, from, std::max(told, from), "wrong-unit", seq });
}

} // namespace mk::store
