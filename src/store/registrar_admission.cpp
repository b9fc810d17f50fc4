// SPDX-License-Identifier: GPL-3.0-or-later
// What an act must satisfy before it may stand in the journal.
#include "store/act_codec.h"
#include "store/act_keys.h"
#include "store/registrar_batch.h"
#include "store/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

Fault unknown(const std::string& what, const std::string& id)
{
    return { FaultKind::NotFound, "no " + what + " is called '" + id + "'; record it first, or check how it is written" };
}

bool isReasonCode(const std::string& text)
{
    if (text.size() < 2 || text.size() > 3 || text[0] != 'D')
        return false;
    const auto number = base::Decimal::parse(text.substr(1));
    return number && number->decimals() == 0 && number->mantissa() >= 1 && number->mantissa() <= 14 && text[1] != '0';
}

} // namespace

Done ActBatch::needWard(const base::WardId& ward)
{
    const auto known = m_reader.hasWard(ward);
    if (!known)
        return known.error();
    return *known ? Done() : Done(unknown("ward", ward.value));
}

Done ActBatch::needMeter(const base::MeterId& meter)
{
    const auto known = m_reader.meter(meter);
    if (!known)
        return known.error();
    return *known != nullptr ? Done() : Done(unknown("meter", meter.value));
}

Result<const OperatorRecord*> ActBatch::needPerson(const base::OperatorId& person)
{
    const auto known = m_reader.person(person);
    if (!known)
        return known.error();
    if (*known == nullptr)
        return unknown("operator", person.value);
    return *known;
}

/// A record that a file calls by the same key is there already; a run's is another attempt.
Done ActBatch::admitKey(const Act& act)
{
    const std::string file(fileOf(act));
    if (file.empty() || std::holds_alternative<acts::ControlRun>(act))
        return {};
    const auto known = entryOfKey(m_session, file, keyOf(act));
    if (!known)
        return known.error();
    if (!*known)
        return {};
    if (const auto* vial = std::get_if<acts::StripVialOpened>(&act)) {
        const auto first = m_reader.stripVial(vial->vial);
        if (first && *first != nullptr && (*first)->vial.opened)
            return Fault { FaultKind::Conflict, "vial '" + vial->vial.value + "' was opened on " + inWords(*(*first)->vial.opened, m_reader.zone()) + " (entry "
                    + std::to_string((*known)->value) + "); scan another vial, or ask the coordinator to correct it" };
    }
    return Fault { FaultKind::Conflict, "'" + keyOf(act) + "' is on record as entry " + std::to_string((*known)->value) + "; record a correction or an annulment instead" };
}

template <typename A>
Done ActBatch::check(const A&)
{
    return {};
}

template <>
Done ActBatch::check(const acts::ModelAdded& a)
{
    return a.low && a.high && *a.high < *a.low ? Done(badInput("the measuring range of '" + a.model.value + "' ends below its beginning; check low and high")) : Done();
}

template <>
Done ActBatch::check(const acts::MeterEnrolled& a)
{
    const auto model = m_reader.model(a.model);
    if (!model)
        return model.error();
    if (*model == nullptr)
        return unknown("model", a.model.value);
    if (const Done ward = needWard(a.ward); !ward)
        return ward;
    std::string twin;
    if (a.serial)
        if (const Done read = eachRow(m_session, "SELECT meter FROM meter WHERE model = ? AND serial = ? AND to_seq IS NULL", { bound(a.model.value), bound(*a.serial) },
                [&](const Statement& row) {
                    twin = row.text(0);
                    return Done();
                });
            !read)
            return read;
    return twin.empty() ? Done() : Done(Fault { FaultKind::Conflict, "model '" + a.model.value + "' with serial '" + *a.serial + "' is enrolled as '" + twin + "' already" });
}

template <>
Done ActBatch::check(const acts::StripLotReceived& a)
{
    const auto model = m_reader.model(a.model);
    if (!model)
        return model.error();
    return *model == nullptr ? Done(unknown("model", a.model.value)) : Done();
}

template <>
Done ActBatch::check(const acts::StripVialOpened& a)
{
    const auto lot = m_reader.stripLot(a.lot);
    if (!lot)
        return lot.error();
    if (*lot == nullptr)
        return unknown("strip lot", a.lot.value);
    return a.ward ? needWard(*a.ward) : Done();
}

template <>
Done ActBatch::check(const acts::ControlVialOpened& a)
{
    const auto lot = m_reader.controlLot(a.lot);
    if (!lot)
        return lot.error();
    if (*lot == nullptr)
        return unknown("control lot", a.lot.value);
    return a.ward ? needWard(*a.ward) : Done();
}

template <>
Done ActBatch::check(const acts::RangeAssigned& a)
{
    const auto strip = m_reader.stripLot(a.stripLot);
    const auto control = m_reader.controlLot(a.controlLot);
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr)
        return unknown("strip lot", a.stripLot.value);
    if (*control == nullptr)
        return unknown("control lot", a.controlLot.value);
    if ((*control)->lot.level != a.level)
        return badInput("control lot '" + a.controlLot.value + "' is of level " + std::string(word((*control)->lot.level)) + ", not " + std::string(word(a.level)));
    if (a.high < a.low)
        return badInput("the range ends below its beginning; check low and high on the label");
    if (a.sd && a.sd->mantissa() < 0)
        return badInput("an SD is never below zero; check it");
    return {};
}

Done ActBatch::checkResult(const acts::ControlRun& run)
{
    const auto meter = m_reader.meter(run.meter);
    const auto model = meter && *meter != nullptr ? m_reader.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    if (!meter || !model)
        return meter ? model.error() : meter.error();
    const auto* number = std::get_if<base::Decimal>(&run.result);
    if (*model == nullptr || number == nullptr || run.unit != (*model)->act.unit)
        return {};
    const auto& limits = (*model)->act;
    if ((limits.low && *number < *limits.low) || (limits.high && *number > *limits.high))
        return badInput("the result " + number->typed() + " lies outside what model '" + limits.model.value + "' can show (" + (limits.low ? limits.low->typed() : "…") + " to "
            + (limits.high ? limits.high->typed() : "…") + " " + std::string(base::toText(limits.unit)) + "); write HI or LO where the meter shows that");
    return {};
}

template <>
Done ActBatch::check(const acts::ControlRun& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto strip = m_reader.stripVial(a.stripVial);
    const auto control = m_reader.controlVial(a.controlVial);
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr)
        return unknown("strip vial", a.stripVial.value);
    if (*control == nullptr)
        return unknown("control vial", a.controlVial.value);
    if (a.reason && !isReasonCode(*a.reason))
        return badInput("'" + *a.reason + "' is not a reason for a control; write D1 to D14");
    if (const Done result = checkResult(a); !result)
        return result;
    std::string owner;
    if (const Done read = eachRow(m_session, "SELECT meter FROM control_run WHERE set_id = ? LIMIT 1", { bound(a.set.value) },
            [&](const Statement& row) {
                owner = row.text(0);
                return Done();
            });
        !read)
        return read;
    m_setKnown = !owner.empty();
    return owner.empty() || owner == a.meter.value ? Done()
                                                   : Done(Fault { FaultKind::Conflict, "set '" + a.set.value + "' belongs to meter '" + owner + "'; give this run a set of its own" });
}

template <>
Done ActBatch::check(const acts::ComparisonRecorded& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (!a.stripVial)
        return {};
    const auto vial = m_reader.stripVial(*a.stripVial);
    if (!vial)
        return vial.error();
    return *vial == nullptr ? Done(unknown("strip vial", a.stripVial->value)) : Done();
}

template <>
Done ActBatch::check(const acts::IncidentReported& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    return a.noticedAt && *a.noticedAt < a.at ? Done(badInput("it was noticed before it happened; check at and noticed_at")) : Done();
}

Result<ReturnEvidence> ActBatch::evidenceFor(const acts::ReturnStep& step)
{
    ReturnEvidence evidence;
    const auto state = stateAt(step.meter, effective(step.at));
    if (!state)
        return state.error();
    evidence.state = *state;
    evidence.today = m_reader.zone().dateOf(step.at);
    const auto person = m_reader.person(step.by);
    if (!person)
        return person.error();
    if (*person != nullptr)
        evidence.person = **person;
    return evidence;
}

template <>
Done ActBatch::check(const acts::ReturnStep& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (const Done settled = settleMeter(a.meter); !settled)
        return settled;
    auto evidence = evidenceFor(a);
    const auto open = openStops(a.meter);
    auto incidents = m_reader.incidents(a.meter);
    auto steps = m_reader.returnSteps(a.meter);
    auto sets = m_reader.newestSets(a.meter, a.at, 10);
    auto pairs = m_reader.pairs(a.meter);
    if (!evidence || !open || !incidents || !steps || !sets || !pairs)
        return Fault { FaultKind::Damaged, "the records of '" + a.meter.value + "' cannot be read; run verify" };
    evidence->openStops = *open;
    evidence->causes = *incidents;
    std::erase_if(*steps, [&](const ReturnRecord& step) { return step.act.at > a.at; });
    evidence->steps = *steps;
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > a.at; });
    evidence->newestSets = *sets;
    for (const auto& pair : *pairs)
        if (pair.judged.at <= a.at && pair.judged.outcome != PairOutcome::Excluded)
            evidence->newestPair = pair;
    return mayTakeReturnStep(a, *evidence, m_reader.policyAt(a.at));
}

template <>
Done ActBatch::check(const acts::MeterMoved& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if (!a.toState && !a.toWard)
        return badInput("a movement needs to_state, to_ward or both");
    if (a.toWard)
        if (const Done ward = needWard(*a.toWard); !ward)
            return ward;
    if (!a.toState)
        return (*person)->act.role == Role::Inspector ? Done(refused("an inspector may not move a meter")) : Done();
    if (const Done settled = settleMeter(a.meter); !settled)
        return settled;
    const auto state = stateAt(a.meter, effective(a.at));
    if (!state)
        return state.error();
    if (const Done may = mayMove(*state, *a.toState, (*person)->act.role); !may)
        return refused(a.meter.value + ": " + may.error().text);
    return {};
}

template <>
Done ActBatch::check(const acts::VialEnded& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto strip = m_reader.stripVial(base::StripVialId(a.vial));
    const auto control = m_reader.controlVial(base::ControlVialId(a.vial));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr && *control == nullptr)
        return unknown("vial", a.vial);
    const auto& ended = *strip != nullptr ? (*strip)->ended : (*control)->ended;
    return ended ? Done(Fault { FaultKind::Conflict, "vial '" + a.vial + "' was ended already (entry " + std::to_string(ended->seq.value) + ")" }) : Done();
}

template <>
Done ActBatch::check(const acts::LotEvent& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto strip = m_reader.stripLot(base::StripLotId(a.lot));
    const auto control = m_reader.controlLot(base::ControlLotId(a.lot));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    return *strip == nullptr && *control == nullptr ? Done(unknown("lot", a.lot)) : Done();
}

template <>
Done ActBatch::check(const acts::NoteAdded& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    return needMeter(a.meter);
}

Done ActBatch::admit(const Act& act)
{
    const auto time = ownTimeOf(act);
    if (time && time->utcMs > m_nowMs)
        return badInput("its time " + base::toText(*time) + " lies in the future (it is " + base::toText(m_reader.zone().at(m_nowMs)) + "); check the date");
    if (const Done key = admitKey(act); !key)
        return key;
    return std::visit([this](const auto& a) { return check(a); }, act);
}

} // namespace mk::store
