// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/lot_records.h"

#include "registry/lots/expiry.h"
#include "registry/meter/fitness.h"
#include "store/db/rows.h"

#include <algorithm>
#include <set>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// which  of the runs `r` with their verdicts `v`
std::string tracedRunsSql(std::string_view which)
{
    return "SELECT r.run_seq, r.set_id, r.meter, r.at, r.level, r.result, r.strip_vial, r.control_vial, v.strip_lot, v.control_lot, v.valid,"
           " v.invalid_because, v.verdict FROM control_run r JOIN run_verdict v ON v.set_id = r.set_id AND v.run_seq = r.run_seq AND "
        + known("v") + " WHERE " + known("r") + " AND " + std::string(which);
}

Result<std::vector<TracedRun>> tracedRuns(Reader& reader, const Sql& sql, Values values)
{
    std::vector<TracedRun> runs;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(std::move(values)), [&](const Statement& row) -> Done {
        TracedRun run;
        run.seq = { row.number("run_seq") };
        run.set = base::SetId(row.text("set_id"));
        run.meter = base::MeterId(row.text("meter"));
        run.at = momentFrom(row.text("at"));
        if (const Done level = wordFrom(row.text("level"), run.level); !level)
            return level;
        if (auto result = parseReading(row.text("result")))
            run.result = std::move(result).value();
        run.stripVial = row.text("strip_vial");
        run.controlVial = row.text("control_vial");
        run.stripLot = row.text("strip_lot");
        run.controlLot = row.text("control_lot");
        run.valid = row.number("valid") != 0;
        run.invalidBecause = splitLines(row.text("invalid_because"));
        runs.push_back(std::move(run));
        return wordFrom(row.text("verdict"), runs.back().verdict);
    });
    if (!read)
        return read.error();
    std::ranges::sort(runs, {}, &TracedRun::seq);
    return runs;
}

/// The ids that a statement names in a column.
Result<std::vector<std::string>> idsFrom(Reader& reader, std::string_view column, const Sql& sql, Values values)
{
    std::vector<std::string> ids;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(std::move(values)), [&](const Statement& row) {
        ids.push_back(row.text(column));
        return Done();
    });
    if (!read)
        return read.error();
    return ids;
}

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

Result<std::optional<TracedVial>> findVial(Reader& reader, const std::string& id, Moment at)
{
    const auto strip = reader.stripVial(base::StripVialId(id));
    const auto control = reader.controlVial(base::ControlVialId(id));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip != nullptr) {
        const auto lot = reader.stripLot((*strip)->vial.lot);
        if (!lot)
            return lot.error();
        return std::optional(*lot == nullptr
                ? tracedVial(**strip, id, (*strip)->vial.lot.value, true, {}, {}, at, reader.zone())
                : tracedVial(**strip, id, (*lot)->lot.lot.value, true, (*lot)->lot.expiry, (*lot)->lot.openPeriod, at, reader.zone()));
    }
    if (*control == nullptr)
        return std::optional<TracedVial>();
    const auto lot = reader.controlLot((*control)->vial.lot);
    if (!lot)
        return lot.error();
    return std::optional(*lot == nullptr
            ? tracedVial(**control, id, (*control)->vial.lot.value, false, {}, {}, at, reader.zone())
            : tracedVial(**control, id, (*lot)->lot.lot.value, false, (*lot)->lot.expiry, (*lot)->lot.openPeriod, at, reader.zone()));
}

Result<std::vector<TracedVial>> vialsOfLot(Reader& reader, const std::string& lot, Moment at)
{
    static const Sql sql("SELECT vial FROM strip_vial WHERE lot = :lot AND " + known()
        + " UNION SELECT vial FROM control_vial WHERE lot = :lot AND " + known() + " ORDER BY vial");
    const auto ids = idsFrom(reader, "vial", sql, { { "lot", bound(lot) } });
    if (!ids)
        return ids.error();
    std::vector<TracedVial> vials;
    for (const auto& id : *ids) {
        auto vial = findVial(reader, id, at);
        if (!vial)
            return vial.error();
        if (*vial)
            vials.push_back(std::move(**vial));
    }
    return vials;
}

} // namespace

Result<std::vector<TracedRun>> runsOfLot(Reader& reader, const std::string& lot)
{
    static const Sql sql(tracedRunsSql("(v.strip_lot = :lot OR v.control_lot = :lot)"));
    return tracedRuns(reader, sql, { { "lot", bound(lot) } });
}

Result<std::vector<TracedRun>> runsOfVial(Reader& reader, const std::string& vial)
{
    static const Sql sql(tracedRunsSql("(r.strip_vial = :vial OR r.control_vial = :vial)"));
    return tracedRuns(reader, sql, { { "vial", bound(vial) } });
}

Result<std::vector<TracedRun>> runsOfMeter(Reader& reader, const base::MeterId& meter)
{
    static const Sql sql(tracedRunsSql("r.meter = :meter"));
    return tracedRuns(reader, sql, { { "meter", bound(meter.value) } });
}

Result<std::vector<TracedRun>> runsOnAllLots(Reader& reader)
{
    static const Sql sql(tracedRunsSql("v.strip_lot <> '' AND v.control_lot <> ''"));
    return tracedRuns(reader, sql, {});
}

std::map<base::MeterId, Use> usesByMeter(const std::vector<TracedRun>& runs)
{
    std::map<base::MeterId, Use> uses;
    for (const auto& run : runs) {
        auto& use = uses.try_emplace(run.meter, Use { run.at, run.at }).first->second;
        use.first = std::min(use.first, run.at);
        use.last = std::max(use.last, run.at);
        ++use.runs;
    }
    return uses;
}

Result<TracedLot> traceLot(Reader& reader, const std::string& id, Moment at)
{
    const auto strip = reader.stripLot(base::StripLotId(id));
    const auto control = reader.controlLot(base::ControlLotId(id));
    auto shipments = reader.facts<acts::ShipmentReceived>(id);
    auto vials = vialsOfLot(reader, id, at);
    const auto confirmed = reader.facts<acts::RangeConfirmed>(id);
    const auto controls = reader.facts<acts::LotControlChecked>(id);
    const auto samples = reader.facts<acts::LotSampleCompared>(id);
    if (!strip || !control || !shipments || !vials || !confirmed || !controls || !samples)
        return unread("the records of lot '" + id + "'", strip, control, shipments, vials, confirmed, controls, samples);
    if (*strip == nullptr && *control == nullptr)
        return Fault { FaultKind::NotFound, "no lot is called '" + id + "'; record it first, or check how it is written" };
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
    lot.state = lot.strip ? lotStateAt(*lot.strip, stock, at, reader.zone()) : lotStateAt(*lot.control, stock, at, reader.zone());
    for (const auto& event : lot.events())
        if (event.act.what == LotEventKind::Released && event.act.at <= at)
            lot.released = event;
    return lot;
}

Result<TracedVial> traceVial(Reader& reader, const std::string& id, Moment at)
{
    auto vial = findVial(reader, id, at);
    if (!vial)
        return vial.error();
    if (!*vial)
        return Fault { FaultKind::NotFound, "no vial is called '" + id + "'; record its opening first, or check how it is written" };
    return std::move(**vial);
}

Result<std::vector<std::string>> allLots(Reader& reader)
{
    static const Sql sql("SELECT lot FROM (SELECT lot, 0 AS sort FROM strip_lot WHERE " + known()
        + " UNION SELECT lot, 1 FROM control_lot WHERE " + known() + ") AS every_lot ORDER BY sort, lot");
    return idsFrom(reader, "lot", sql, {});
}

Result<std::vector<std::string>> comparisonsOn(Reader& reader, const std::vector<std::string>& stripVials)
{
    static const Sql sql(
        "SELECT pair, strip_vial FROM comparison WHERE strip_vial IS NOT NULL AND " + known() + " ORDER BY known_at, pair");
    std::vector<std::string> pairs;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) {
        if (std::ranges::find(stripVials, row.text("strip_vial")) != stripVials.end())
            pairs.push_back(row.text("pair"));
        return Done();
    });
    if (!read)
        return read.error();
    return pairs;
}

Result<std::vector<std::string>> eqaOn(Reader& reader, const std::vector<std::string>& stripVials)
{
    const auto results = reader.facts<acts::EqaReturned>();
    if (!results)
        return results.error();
    std::vector<std::string> events;
    for (const auto& each : *results)
        if (std::ranges::find(stripVials, each.act.stripVial.value) != stripVials.end())
            events.push_back(subjectOf(each.act));
    return events;
}

Result<std::vector<base::MeterId>> clearedOnlyBy(Reader& reader, const std::vector<TracedRun>& runs, Moment at)
{
    std::set<base::SetId> touched;
    std::set<base::MeterId> meters;
    for (const auto& run : runs) {
        touched.insert(run.set);
        meters.insert(run.meter);
    }
    const Policy& policy = reader.policyAt(at);
    std::vector<base::MeterId> only;
    for (const auto& meter : meters) {
        const auto sets = reader.newestSets(meter, at, 50);
        if (!sets)
            return sets.error();
        bool any = false, other = false;
        for (const auto& set : *sets) {
            const bool accepted = set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned;
            if (!accepted || set.judged.lastAt > at || clearedUntil(set.judged.lastAt, policy, reader.zone()) <= at)
                continue;
            any = true;
            other = other || !touched.contains(set.judged.set);
        }
        if (any && !other)
            only.push_back(meter);
    }
    return only;
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

Result<std::optional<std::string>> firmwareOf(Reader& reader, const base::MeterId& meter)
{
    const auto described = reader.facts<acts::MeterDescribed>(meter.value);
    const auto incidents = reader.incidents(meter);
    if (!described || !incidents)
        return described ? incidents.error() : described.error();
    std::optional<std::pair<Moment, std::string>> newest;
    const auto take = [&](Moment at, const std::optional<std::string>& text) {
        if (text && (!newest || newest->first <= at))
            newest.emplace(at, *text);
    };
    for (const auto& each : *described)
        take(each.act.at, each.act.firmware);
    for (const auto& each : *incidents)
        if (each.act.what == IncidentKind::SoftwareUpdated)
            take(each.act.at, each.act.detail);
    return newest ? std::optional(newest->second) : std::nullopt;
}

Result<NoticeHits> hitsOf(Reader& reader, const acts::NoticeIssued& notice, Moment at)
{
    NoticeHits hits;
    if (namesMeters(notice)) {
        const auto meters = reader.meters();
        if (!meters)
            return meters.error();
        for (const auto& meter : *meters) {
            const auto firmware = notice.firmware ? firmwareOf(reader, meter.act.meter)
                                                  : Result<std::optional<std::string>>(std::optional<std::string>());
            if (!firmware)
                return firmware.error();
            if (hitsMeter(notice, meter.act, *firmware))
                hits.meters.push_back(meter.act.meter);
        }
    }
    if (!notice.lot)
        return hits;
    const auto strip = reader.stripLot(base::StripLotId(*notice.lot));
    const auto control = reader.controlLot(base::ControlLotId(*notice.lot));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if ((*strip != nullptr || *control != nullptr) && hitsWholeLot(notice, *notice.lot))
        hits.lots.push_back(*notice.lot);
    auto vials = vialsOfLot(reader, *notice.lot, at);
    if (!vials)
        return vials.error();
    for (auto& vial : *vials)
        if (hitsVial(notice, vial.vial, vial.lot))
            hits.vials.push_back(std::move(vial));
    return hits;
}

std::vector<std::string> itemsLeft(const NoticeHits& hits, const NoticeRecord& notice)
{
    auto left = hits.items();
    std::erase_if(left, [&](const std::string& item) {
        return std::ranges::any_of(notice.items, [&](const Record<acts::NoticeItemDone>& done) { return done.act.item == item; });
    });
    return left;
}

Result<std::vector<TracedVial>> vialsInExcursion(Reader& reader, const acts::ExcursionReported& excursion, Moment at)
{
    std::vector<std::string> ids;
    if (excursion.vials) {
        ids = idsOf(*excursion.vials);
    } else {
        static const Sql ofWard("SELECT vial FROM strip_vial WHERE ward = :ward AND " + known()
            + " UNION SELECT vial FROM control_vial WHERE ward = :ward AND " + known() + " ORDER BY vial");
        auto found = idsFrom(reader, "vial", ofWard, { { "ward", bound(excursion.ward.value) } });
        if (!found)
            return found.error();
        ids = std::move(found).value();
    }
    std::vector<TracedVial> vials;
    for (const auto& id : ids) {
        auto vial = findVial(reader, id, at);
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

Result<std::vector<TracedRun>> runsInExcursion(Reader& reader, const acts::ExcursionReported& excursion)
{
    const auto vials = vialsInExcursion(reader, excursion, excursion.to);
    if (!vials)
        return vials.error();
    std::vector<TracedRun> inside;
    for (const auto& vial : *vials) {
        auto runs = runsOfVial(reader, vial.vial);
        if (!runs)
            return runs.error();
        for (auto& run : *runs)
            if (excursion.from <= run.at && run.at <= excursion.to && std::ranges::find(inside, run.seq, &TracedRun::seq) == inside.end())
                inside.push_back(std::move(run));
    }
    std::ranges::sort(inside, {}, &TracedRun::seq);
    return inside;
}

Result<StockFigures> stockOf(Reader& reader, const std::optional<base::WardId>& ward, Moment at)
{
    const auto lots = allLots(reader);
    if (!lots)
        return lots.error();
    const Policy& policy = reader.policyAt(at);
    const base::Date soon = base::addDays(reader.zone().dateOf(at), policy.stockDays);
    StockFigures stock;
    for (const auto& id : *lots) {
        auto lot = traceLot(reader, id, at);
        if (!lot)
            return lot.error();
        for (const auto& vial : lot->vials) {
            if (ward && vial.ward && *vial.ward != *ward)
                continue;
            if (vial.state == VialState::Open && vial.lastDay && *vial.lastDay <= soon)
                stock.expiringSoon.push_back(vial);
            else if (vial.state == VialState::Expired)
                stock.expiredOpen.push_back(vial);
            else if (vial.state == VialState::FoundOpen)
                stock.undated.push_back(vial);
        }
        if (lot->state == LotState::Exhausted || lot->state == LotState::Expired || lot->state == LotState::Rejected)
            continue;
        if (lot->expiry() && lot->expiry()->lastDay <= soon)
            stock.lotsExpiringSoon.push_back(id);
        if (lot->unopened && *lot->unopened <= policy.stockVials)
            stock.lotsRunningLow.push_back(id);
        stock.lots.push_back(std::move(lot).value());
    }
    return stock;
}

} // namespace mk::store
