// SPDX-License-Identifier: GPL-3.0-or-later
// What is admitted about lots, vials and ranges. What a person records meets the handbook's demands (2.2 to 2.8, 6.1); what is taken
// over from elsewhere is stored as it comes.
#include "registry/lots/expiry.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/read/lot_records.h"
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
using namespace registry;

namespace {

constexpr std::int64_t kMinuteMs = 60'000;

Fault unknownMaterial(const std::string& what, const std::string& id)
{
    return { FaultKind::NotFound, "no " + what + " is called '" + id + "'; record it first, or check how it is written" };
}

Done mayRecordOnLots(const Result<const OperatorRecord*>& person)
{
    if (!person)
        return person.error();
    return (*person)->act.role == Role::Inspector ? Done(refused("an inspector reads and records nothing")) : Done();
}

Done onlyCoordinator(const Result<const OperatorRecord*>& person, const std::string& what)
{
    if (!person)
        return person.error();
    return (*person)->act.role == Role::Coordinator ? Done() : Done(refused("only the coordinator " + what));
}

std::string missingInWords(const std::vector<std::string>& missing)
{
    std::string text;
    for (const auto& each : missing)
        text += (text.empty() ? "" : "; ") + each;
    return text;
}

std::optional<LotEventKind> controlLotStatus(const ControlLotRecord& lot, Moment at)
{
    std::optional<LotEventKind> status;
    for (const auto& event : lot.events)
        if (event.act.at <= at)
            status = event.act.what;
    return status;
}

} // namespace

/// May a person open a vial of that lot, now? What stands against it is said with what to do instead (handbook 2.3 to 2.5).
Done ActBatch::mayOpen(const std::string& vial, const std::string& lot, const std::optional<base::PrintedDate>& expiry,
    std::optional<LotEventKind> status, bool needsRelease, const std::optional<Moment>& opened, const std::optional<YesNo>& foundOpen)
{
    if (foundOpen == YesNo::Yes)
        return opened ? Done(badInput(
                   "vial '" + vial + "' was found open, so nobody knows since when: leave out opened; it can be discarded or quarantined"))
                      : Done();
    const Zone& zone = m_reader.zone();
    const std::string what = "vial '" + vial + "' may not be opened: ";
    if (!opened)
        return badInput("say when vial '" + vial + "' was opened; if it stood open and nobody knows since when, say found_open yes");
    if (status == LotEventKind::Quarantined || status == LotEventKind::Rejected)
        return refused(what + "lot '" + lot + "' is " + std::string(word(*status)) + "; open a vial of another lot");
    if (!status && needsRelease)
        return refused(
            what + "lot '" + lot + "' is not released; open a vial of a released lot, or ask the coordinator to release this one");
    if (expiry && expiry->lastDay < zone.dateOf(*opened))
        return refused(what + "lot '" + lot + "' was good to " + inWords(expiry->lastDay) + "; open a vial of a lot in date");
    const auto notices = m_reader.notices();
    if (!notices)
        return notices.error();
    for (const auto& notice : **notices)
        if (!notice.closed && (hitsWholeLot(notice.notice, lot) || hitsVial(notice.notice, vial, lot)))
            return refused(what + "notice '" + notice.notice.notice + "' names it; set it aside and open another");
    const int limit = m_reader.policyAt(zone.at(m_nowMs)).lateEntryMinutes;
    if (m_author.person.empty() || m_nowMs - opened->utcMs <= limit * kMinuteMs)
        return {};
    const auto person = needPerson(m_author.person);
    if (!person)
        return person.error();
    return (*person)->act.role == Role::Coordinator
        ? Done()
        : Done(refused("vial '" + vial + "' would be opened " + inWords(*opened, zone) + ", more than " + std::to_string(limit)
            + " minutes ago: say found_open yes, then discard or quarantine it, or ask the coordinator to enter the opening"));
}

template <>
Done ActBatch::check(const acts::StripVialOpened& a)
{
    const auto lot = m_reader.stripLot(a.lot);
    if (!lot)
        return lot.error();
    if (*lot == nullptr)
        return unknownMaterial("strip lot", a.lot.value);
    if (!m_imported)
        if (const Done may = mayOpen(
                a.vial.value, a.lot.value, (*lot)->lot.expiry, lotStatus(**lot, m_reader.zone().at(m_nowMs)), true, a.opened, a.foundOpen);
            !may)
            return may;
    return a.ward ? needWard(*a.ward) : Done();
}

template <>
Done ActBatch::check(const acts::ControlVialOpened& a)
{
    const auto lot = m_reader.controlLot(a.lot);
    if (!lot)
        return lot.error();
    if (*lot == nullptr)
        return unknownMaterial("control lot", a.lot.value);
    if (!m_imported)
        if (const Done may = mayOpen(a.vial.value, a.lot.value, (*lot)->lot.expiry, controlLotStatus(**lot, m_reader.zone().at(m_nowMs)),
                false, a.opened, a.foundOpen);
            !may)
            return may;
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
        return unknownMaterial("strip lot", a.stripLot.value);
    if (*control == nullptr)
        return unknownMaterial("control lot", a.controlLot.value);
    if ((*control)->lot.level != a.level)
        return badInput("control lot '" + a.controlLot.value + "' is of level " + std::string(word((*control)->lot.level)) + ", not "
            + std::string(word(a.level)));
    if (a.high < a.low)
        return badInput("the range ends below its beginning; check low and high on the label");
    if (a.sd && a.sd->mantissa() < 0)
        return badInput("an SD is never below zero; check it");
    if (a.meter)
        if (const Done meter = needMeter(*a.meter); !meter)
            return meter;
    const bool targets = a.mean || a.sd || (a.stage && *a.stage != Stage::Range) || a.meter;
    if (m_imported || m_author.person.empty())
        return {};
    return targets ? onlyCoordinator(needPerson(m_author.person), "sets mean and SD; enter low and high from the label")
                   : mayRecordOnLots(needPerson(m_author.person));
}

template <>
Done ActBatch::check(const acts::VialEnded& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    const auto strip = m_reader.stripVial(base::StripVialId(a.vial));
    const auto control = m_reader.controlVial(base::ControlVialId(a.vial));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr && *control == nullptr)
        return unknownMaterial("vial", a.vial);
    if (!m_imported)
        if (const Done may = mayRecordOnLots(person); !may)
            return may;
    const auto& ended = *strip != nullptr ? (*strip)->newestEnd : (*control)->newestEnd;
    const bool thrownAway = !m_imported && ended && ended->act.how == VialEndKind::Quarantined && a.how == VialEndKind::Discarded;
    return ended && !thrownAway
        ? Done(Fault { FaultKind::Conflict, "vial '" + a.vial + "' was ended already (entry " + std::to_string(ended->seq.value) + ")" })
        : Done();
}

template <>
Done ActBatch::check(const acts::LotEvent& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    const auto strip = m_reader.stripLot(base::StripLotId(a.lot));
    const auto control = m_reader.controlLot(base::ControlLotId(a.lot));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr && *control == nullptr)
        return unknownMaterial("lot", a.lot);
    if (m_imported)
        return {};
    if (a.what == LotEventKind::Quarantined) // anybody may stop a lot
        return mayRecordOnLots(person);
    if (const Done may = onlyCoordinator(person, a.what == LotEventKind::Released ? "releases a lot" : "rejects a lot; quarantine it");
        !may)
        return may;
    const Moment now = m_reader.zone().at(m_nowMs);
    const auto status = *strip != nullptr ? lotStatus(**strip, now) : controlLotStatus(**control, now);
    if (a.what == LotEventKind::Rejected)
        return status == LotEventKind::Rejected ? Done(Fault { FaultKind::Conflict, "lot '" + a.lot + "' is rejected already" }) : Done();
    if (status == LotEventKind::Released)
        return Fault { FaultKind::Conflict, "lot '" + a.lot + "' is released already" };
    if (status == LotEventKind::Rejected)
        return refused("lot '" + a.lot + "' was rejected, and that is final");
    const bool wasReleased = *strip != nullptr && ((*strip)->lot.released || std::ranges::any_of((*strip)->events, [](const auto& event) {
        return event.act.what == LotEventKind::Released;
    }));
    if (status == LotEventKind::Quarantined && !a.detail)
        return badInput("say in the detail why lot '" + a.lot + "' may be used again");
    return *strip == nullptr || wasReleased ? Done() : mayRelease(a, **strip);
}

/// The evidence of handbook 2.3; a lot that was taken over needs none of what files cannot carry.
Done ActBatch::mayRelease(const acts::LotEvent& event, const StripLotRecord& lot)
{
    const auto entry = entryAt(m_session, lot.seq);
    const auto body = entry && *entry ? Json::parse((*entry)->body) : Result<Json>(badInput("no entry"));
    if (!body)
        return body.error();
    if (isImported(*body))
        return {};
    const Moment now = m_reader.zone().at(m_nowMs);
    auto verification = verificationOf(m_reader, lot.lot.lot, now);
    if (!verification)
        return verification.error();
    verification->noSamples = event.noSamples;
    const auto missing = missingForRelease(*verification, m_reader.policyAt(now));
    return missing.empty() ? Done() : Done(refused("lot '" + event.lot + "' may not be released yet: " + missingInWords(missing)));
}

template <>
Done ActBatch::check(const acts::ShipmentReceived& a)
{
    if (const Done may = mayRecordOnLots(needPerson(a.by)); !may)
        return may;
    const auto strip = m_reader.stripLot(base::StripLotId(a.lot));
    const auto control = m_reader.controlLot(base::ControlLotId(a.lot));
    const auto shipments = m_reader.facts<acts::ShipmentReceived>(a.lot);
    if (!strip || !control || !shipments)
        return unread("the records of lot '" + a.lot + "'", strip, control, shipments);
    if (*strip == nullptr && *control == nullptr)
        return unknownMaterial("lot", a.lot);
    if (a.vials && (a.vials->decimals() != 0 || a.vials->mantissa() <= 0))
        return badInput("a shipment holds a whole number of vials, not '" + a.vials->typed() + "'");
    for (const auto& each : *shipments)
        if (each.act.shipment == a.shipment)
            return Fault { FaultKind::Conflict,
                "shipment '" + a.shipment + "' of lot '" + a.lot + "' is on record as entry " + std::to_string(each.seq.value)
                    + "; a second delivery has a number of its own" };
    return {};
}

template <>
Done ActBatch::check(const acts::RangeConfirmed& a)
{
    if (const Done may = mayRecordOnLots(needPerson(a.by)); !may)
        return may;
    const auto range = m_reader.range(a.stripLot, a.controlLot, a.level, a.at);
    if (!range)
        return range.error();
    if (*range == nullptr)
        return Fault { FaultKind::NotFound,
            "no " + std::string(word(a.level)) + " range of '" + a.stripLot.value + "' with '" + a.controlLot.value
                + "' is on record to be typed again; enter it first" };
    const auto entry = entryAt(m_session, (*range)->seq);
    if (!entry)
        return entry.error();
    return *entry ? confirms(a, **range, (*entry)->person) : Done();
}

template <>
Done ActBatch::check(const acts::LotControlChecked& a)
{
    if (const Done may = mayRecordOnLots(needPerson(a.by)); !may)
        return may;
    const auto lot = m_reader.stripLot(a.lot);
    const auto meter = m_reader.meter(a.meter);
    const auto vial = m_reader.controlVial(a.controlVial);
    if (!lot || !meter || !vial)
        return unread("what the control on lot '" + a.lot.value + "' names", lot, meter, vial);
    if (*lot == nullptr)
        return unknownMaterial("strip lot", a.lot.value);
    if (*meter == nullptr)
        return unknownMaterial("meter", a.meter.value);
    if (*vial == nullptr)
        return unknownMaterial("control vial", a.controlVial.value);
    if (lotStatus(**lot, m_reader.zone().at(m_nowMs)) == LotEventKind::Released)
        return refused("lot '" + a.lot.value + "' is released; record a control of the meter instead");
    if ((*meter)->act.model != (*lot)->lot.model)
        return badInput("lot '" + a.lot.value + "' is for model '" + (*lot)->lot.model.value + "', not for meter '" + a.meter.value + "'");
    const auto controlLot = m_reader.controlLot((*vial)->vial.lot);
    if (!controlLot)
        return controlLot.error();
    if (*controlLot != nullptr && (*controlLot)->lot.level != a.level)
        return badInput("control vial '" + a.controlVial.value + "' is of level " + std::string(word((*controlLot)->lot.level)) + ", not "
            + std::string(word(a.level)));
    acts::ControlRun shown;
    shown.meter = a.meter;
    shown.result = a.result;
    shown.unit = a.unit;
    return checkResult(shown);
}

template <>
Done ActBatch::check(const acts::LotSampleCompared& a)
{
    if (const Done may = mayRecordOnLots(needPerson(a.by)); !may)
        return may;
    const auto lot = m_reader.stripLot(a.lot);
    const auto current = m_reader.stripLot(a.currentLot);
    const auto earlier = m_reader.facts<acts::LotSampleCompared>(a.lot.value);
    if (!lot || !current || !earlier)
        return unread("the records of lot '" + a.lot.value + "'", lot, current, earlier);
    if (*lot == nullptr || *current == nullptr)
        return unknownMaterial("strip lot", *lot == nullptr ? a.lot.value : a.currentLot.value);
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    const Moment now = m_reader.zone().at(m_nowMs);
    if (lotStatus(**lot, now) == LotEventKind::Released)
        return refused("lot '" + a.lot.value + "' is released; samples are compared before that");
    if (lotStatus(**current, now) != LotEventKind::Released)
        return refused("lot '" + a.currentLot.value + "' is not the lot in use: it is not released");
    for (const auto& each : *earlier)
        if (each.act.sample == a.sample && each.act.meter == a.meter)
            return Fault { FaultKind::Conflict,
                "sample '" + a.sample + "' on meter '" + a.meter.value + "' is on record as entry " + std::to_string(each.seq.value) };
    return {};
}

} // namespace mk::store
