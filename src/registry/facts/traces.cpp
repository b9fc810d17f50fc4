// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/facts/traces.h"

#include "base/unread.h"
#include "registry/lots/expiry.h"

#include <algorithm>

namespace mk::registry {

using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::unread;

namespace {

template <typename V>
TracedVial tracedVial(const V& record, const std::string& id, const std::string& lot, bool strip,
    const std::optional<base::PrintedDate>& printed, const std::optional<base::Period>& period, Moment at, const Zone& zone)
{
    TracedVial vial { id, lot, strip };
    vial.ward = record.vial.ward;
    vial.opened = record.vial.opened;
    if (const auto expiry = effectiveExpiry(printed, record.vial.opened, period, zone))
        vial.lastDay = expiry->lastDay;
    vial.ended = record.newestEnd;
    vial.state = vialStateAt(record.newestEnd, record.vial.opened, vial.lastDay, at, zone);
    return vial;
}

Result<std::optional<TracedVial>> findVial(Facts& facts, const std::string& id, Moment at)
{
    const auto strip = facts.stripVial(base::StripVialId(id));
    const auto control = facts.controlVial(base::ControlVialId(id));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip != nullptr) {
        const auto lot = facts.stripLot((*strip)->vial.lot);
        if (!lot)
            return lot.error();
        return std::optional(*lot == nullptr
                ? tracedVial(**strip, id, (*strip)->vial.lot.value, true, {}, {}, at, facts.zone())
                : tracedVial(**strip, id, (*lot)->lot.lot.value, true, (*lot)->lot.expiry, (*lot)->lot.openPeriod, at, facts.zone()));
    }
    if (*control == nullptr)
        return std::optional<TracedVial>();
    const auto lot = facts.controlLot((*control)->vial.lot);
    if (!lot)
        return lot.error();
    return std::optional(*lot == nullptr
            ? tracedVial(**control, id, (*control)->vial.lot.value, false, {}, {}, at, facts.zone())
            : tracedVial(**control, id, (*lot)->lot.lot.value, false, (*lot)->lot.expiry, (*lot)->lot.openPeriod, at, facts.zone()));
}

Result<std::vector<TracedVial>> vialsOfLot(Facts& facts, const std::string& lot, Moment at)
{
    const auto ids = facts.vialIdsOfLot(lot);
    if (!ids)
        return ids.error();
    std::vector<TracedVial> vials;
    for (const auto& id : *ids) {
        auto vial = findVial(facts, id, at);
        if (!vial)
            return vial.error();
        if (*vial)
            vials.push_back(std::move(**vial));
    }
    return vials;
}

} // namespace

Result<TracedLot> traceLot(Facts& facts, const std::string& id, Moment at)
{
    const auto strip = facts.stripLot(base::StripLotId(id));
    const auto control = facts.controlLot(base::ControlLotId(id));
    auto shipments = facts.facts<acts::ShipmentReceived>(id);
    auto vials = vialsOfLot(facts, id, at);
    const auto confirmed = facts.facts<acts::RangeConfirmed>(id);
    const auto controls = facts.facts<acts::LotControlChecked>(id);
    const auto samples = facts.facts<acts::LotSampleCompared>(id);
    if (!strip || !control || !shipments || !vials || !confirmed || !controls || !samples)
        return unread(
            "the records of lot '%1' cannot be read; run verify", id, strip, control, shipments, vials, confirmed, controls, samples);
    if (*strip == nullptr && *control == nullptr)
        return base::fault(FaultKind::NotFound, "no lot is called '%1'; record it first, or check how it is written", id);
    TracedLot lot { id };
    if (*strip != nullptr)
        lot.strip = **strip;
    else
        lot.control = **control;
    lot.shipments = std::move(shipments).value();
    lot.vials = std::move(vials).value();
    for (const auto& shipment : lot.shipments)
        if (shipment.act.vials && shipment.act.at <= at)
            lot.unopened = lot.unopened.value_or(0) + shipment.act.vials->mantissa();
    if (lot.unopened)
        *lot.unopened = std::max<std::int64_t>(
            0, *lot.unopened - std::ranges::count_if(lot.vials, [&](const TracedVial& v) { return !v.opened || *v.opened <= at; }));
    const LotStock stock { !confirmed->empty() || !controls->empty() || !samples->empty(), lot.unopened,
        std::ranges::any_of(lot.vials, [](const TracedVial& v) { return v.state == VialState::Open; }) };
    lot.state = lot.strip ? lotStateAt(*lot.strip, stock, at, facts.zone()) : lotStateAt(*lot.control, stock, at, facts.zone());
    for (const auto& event : lot.events())
        if (event.act.what == LotEventKind::Released && event.act.at <= at)
            lot.released = event;
    return lot;
}

Result<TracedVial> traceVial(Facts& facts, const std::string& id, Moment at)
{
    auto vial = findVial(facts, id, at);
    if (!vial)
        return vial.error();
    if (!*vial)
        return base::fault(FaultKind::NotFound, "no vial is called '%1'; record its opening first, or check how it is written", id);
    return std::move(**vial);
}

std::vector<std::string> NoticeHits::items() const
{
    std::vector<std::string> all;
    for (const auto& meter : meters)
        all.push_back(meter.value);
    all.insert(all.end(), lots.begin(), lots.end());
    for (const auto& vial : vials)
        all.push_back(vial.vial);
    return all;
}

Result<std::optional<std::string>> firmwareOf(Facts& facts, const base::MeterId& meter, Moment at)
{
    const auto described = facts.facts<acts::MeterDescribed>(meter.value);
    const auto incidents = facts.incidents(meter);
    if (!described || !incidents)
        return described ? incidents.error() : described.error();
    std::optional<std::pair<Moment, std::string>> newest;
    const auto take = [&](Moment when, const std::optional<std::string>& text) {
        if (text && when <= at && (!newest || newest->first <= when))
            newest.emplace(when, *text);
    };
    for (const auto& each : *described)
        take(each.act.at, each.act.firmware);
    for (const auto& each : *incidents)
        if (each.act.what == IncidentKind::SoftwareUpdated)
            take(each.act.at, each.act.detail);
    return newest ? std::optional(newest->second) : std::nullopt;
}

Result<NoticeHits> hitsOf(Facts& facts, const acts::NoticeIssued& notice, Moment at)
{
    NoticeHits hits;
    if (namesMeters(notice)) {
        const auto meters = facts.meters();
        if (!meters)
            return meters.error();
        for (const auto& meter : *meters) {
            const auto firmware = notice.firmware ? firmwareOf(facts, meter.act.meter, at)
                                                  : Result<std::optional<std::string>>(std::optional<std::string>());
            if (!firmware)
                return firmware.error();
            if (hitsMeter(notice, meter.act, *firmware))
                hits.meters.push_back(meter.act.meter);
        }
    }
    if (!notice.lot)
        return hits;
    const auto strip = facts.stripLot(base::StripLotId(*notice.lot));
    const auto control = facts.controlLot(base::ControlLotId(*notice.lot));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if ((*strip != nullptr || *control != nullptr) && hitsWholeLot(notice, *notice.lot))
        hits.lots.push_back(*notice.lot);
    auto vials = vialsOfLot(facts, *notice.lot, at);
    if (!vials)
        return vials.error();
    for (auto& vial : *vials)
        if (hitsVial(notice, vial.vial, vial.lot))
            hits.vials.push_back(std::move(vial));
    return hits;
}

Result<std::vector<NoticeRecord>> openNoticesOf(Facts& facts, const acts::MeterEnrolled& meter, Moment at)
{
    const auto notices = facts.notices();
    if (!notices)
        return notices.error();
    std::vector<NoticeRecord> open;
    for (const auto& notice : **notices) {
        const bool handled = (notice.closed && *notice.closed <= at)
            || std::ranges::any_of(notice.items, [&](const auto& item) { return item.act.item == meter.meter.value && item.act.at <= at; });
        if (handled || notice.known > at || !namesMeters(notice.notice))
            continue;
        const auto firmware = notice.notice.firmware ? firmwareOf(facts, meter.meter, at)
                                                     : Result<std::optional<std::string>>(std::optional<std::string>());
        if (!firmware)
            return firmware.error();
        if (hitsMeter(notice.notice, meter, *firmware))
            open.push_back(notice);
    }
    return open;
}

std::vector<std::string> itemsLeft(const NoticeHits& hits, const NoticeRecord& notice)
{
    auto left = hits.items();
    std::erase_if(left, [&](const std::string& item) {
        return std::ranges::any_of(notice.items, [&](const Record<acts::NoticeItemDone>& done) { return done.act.item == item; });
    });
    return left;
}

Result<std::vector<TracedVial>> vialsInExcursion(Facts& facts, const acts::ExcursionReported& excursion, Moment at)
{
    std::vector<std::string> ids;
    if (excursion.vials) {
        ids = idsOf(*excursion.vials);
    } else {
        auto found = facts.vialIdsOfWard(excursion.ward);
        if (!found)
            return found.error();
        ids = std::move(found).value();
    }
    std::vector<TracedVial> vials;
    for (const auto& id : ids) {
        auto vial = findVial(facts, id, at);
        if (!vial)
            return vial.error();
        if (!*vial)
            continue;
        const bool gone = (*vial)->ended && (*vial)->ended->act.at < excursion.from;
        const bool there = excursion.vials || ((!(*vial)->opened || *(*vial)->opened <= excursion.to) && !gone);
        if (there)
            vials.push_back(std::move(**vial));
    }
    return vials;
}

} // namespace mk::registry
