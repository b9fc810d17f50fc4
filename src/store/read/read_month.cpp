// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_month.h"

#include "registry/meter/lookback.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <algorithm>
#include <iterator>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// The stretch of time that a month's figures look at.
struct MonthSpan {
    Moment from, to;
};

/// What had not been decided by the cut-off stands open.
void openAgainAfter(Moment cutOff, MonthMeterInput& input)
{
    std::erase_if(input.states, [&](const StateSpell& s) { return s.since > cutOff; });
    std::erase_if(input.incidents, [&](const IncidentRecord& i) { return i.act.noticedAt.value_or(i.act.at) > cutOff; });
    std::erase_if(input.stops, [&](const StopRecord& s) { return s.stop.at > cutOff; });
    std::erase_if(input.lookbacks, [&](const LookbackRecord& l) { return l.lookback.at > cutOff; });
    for (auto& stop : input.stops)
        if (stop.endedAt && *stop.endedAt > cutOff)
            stop.endedAt.reset(), stop.endedBy.reset();
    for (auto& lookback : input.lookbacks)
        lookback = registry::asItStood(std::move(lookback), cutOff);
}

/// When a person told of an incident: a declaration is excused beforehand only if it was entered beforehand.
Done readTold(Reader& reader, MonthMeterInput& input)
{
    for (const auto& incident : input.incidents) {
        if (incident.act.what != IncidentKind::NotInUse)
            continue;
        const auto entry = entryAt(reader.session(), incident.seq);
        if (!entry)
            return entry.error();
        if (*entry && !saysImported((*entry)->body))
            input.toldBy.emplace(incident.seq, keptSince((*entry)->body).value_or(reader.zone().at((*entry)->at)));
    }
    return {};
}

Result<MonthMeterInput> meterInput(Reader& reader, const MeterRecord& meter, MonthSpan span, Moment cutOff)
{
    const base::MeterId& id = meter.act.meter;
    auto sets = reader.sets(id, span.from, span.to);
    auto states = reader.states(id);
    auto wards = reader.wardSpells(id, cutOff);
    auto incidents = reader.incidents(id);
    auto stops = reader.stops(id);
    auto lookbacks = reader.lookbacks(id);
    for (const Fault* fault : { sets ? nullptr : &sets.error(), states ? nullptr : &states.error(), wards ? nullptr : &wards.error(),
             incidents ? nullptr : &incidents.error(), stops ? nullptr : &stops.error(), lookbacks ? nullptr : &lookbacks.error() })
        if (fault != nullptr)
            return *fault;
    MonthMeterInput input { meter, std::move(sets).value(), std::move(states).value(), std::move(wards).value(),
        std::move(incidents).value(), std::move(stops).value(), std::move(lookbacks).value() };
    if (const Done told = readTold(reader, input); !told)
        return told.error();
    openAgainAfter(cutOff, input);
    return input;
}

} // namespace

Result<CountedBy> countedBy(Reader& reader, const std::optional<base::WardId>& ward, Month month)
{
    const auto signatures = reader.facts<acts::ReviewSigned>(toText(month));
    if (!signatures)
        return signatures.error();
    for (const auto& signature : *signatures)
        if (!signature.act.ward || signature.act.ward == ward)
            return signature.act.countedBy.value_or(CountedBy::Minute);
    return CountedBy::Occasion;
}

Result<MonthReading> readMonth(
    Reader& reader, const std::optional<base::WardId>& ward, Month month, Moment cutOff, std::optional<CountedBy> counted)
{
    const Zone& zone = reader.zone();
    const Moment start = zone.startOf(firstDayOf(month));
    const Moment end = zone.endOf(lastDayOf(month));
    if (cutOff <= start)
        return base::badInput("%1 had not begun by %2; review a month that has", base::Arg(base::Arg::Kind::Month, toText(month)),
            base::Arg(base::Arg::Kind::Moment, base::toText(zone.at(cutOff.utcMs))));
    if (ward) {
        const auto known = reader.hasWard(*ward);
        if (!known)
            return known.error();
        if (!*known)
            return base::fault(FaultKind::NotFound, "ward '%1' is not on record; check its id", ward->value);
    }
    const MonthSpan span { zone.startOf(base::addDays(firstDayOf(month), -kMonthDaysBefore)),
        std::min(cutOff, zone.endOf(base::addDays(lastDayOf(month), kMonthDaysAfter))) };
    const auto meters = reader.meters();
    if (!meters)
        return meters.error();
    const auto accepted = reader.facts<acts::LateEntryAccepted>();
    if (!accepted)
        return accepted.error();
    std::vector<base::SetId> acceptedLate;
    for (const auto& each : *accepted)
        if (each.act.at <= cutOff)
            acceptedLate.push_back(each.act.set);
    MonthReading reading;
    for (const auto& meter : *meters) {
        if (meter.act.enrolled > cutOff)
            continue;
        auto input = meterInput(reader, meter, span, cutOff);
        if (!input)
            return input.error();
        input->acceptedLate = acceptedLate;
        reading.meters.push_back(std::move(input).value());
    }
    std::ranges::sort(reading.meters, {}, [](const MonthMeterInput& m) { return m.meter.act.meter; });
    reading.policy = reader.policyAt(std::min(cutOff, base::plusMs(end, -1)));
    const auto definition = counted ? Result<CountedBy>(*counted) : countedBy(reader, ward, month);
    if (!definition)
        return definition.error();
    reading.figures = monthFigures(reading.meters, month, ward, reading.policy, zone, cutOff, *definition);
    return reading;
}

namespace {

/// The signature under which a meter came back, where the entry that ended its stop follows from one.
Result<std::optional<Record<acts::ReturnStep>>> signatureOf(Reader& reader, Seq ended)
{
    using Signature = std::optional<Record<acts::ReturnStep>>;
    const auto entry = reader.entry(ended);
    if (!entry)
        return entry.error();
    const auto* returned = *entry ? std::get_if<acts::MeterReturned>(&(*entry)->act) : nullptr;
    const Seq step = returned != nullptr ? returned->because : ended;
    const auto because = returned != nullptr ? reader.entry(step) : entry;
    if (!because)
        return because.error();
    const auto* taken = *because ? std::get_if<acts::ReturnStep>(&(*because)->act) : nullptr;
    return taken != nullptr && taken->step == ReturnStepKind::Signed ? Signature({ step, *taken }) : Signature();
}

} // namespace

Result<std::vector<ToldStop>> toldStops(Reader& reader, std::span<const StopRecord> stops)
{
    std::vector<ToldStop> told;
    for (const auto& stop : stops) {
        const auto entry = entryAt(reader.session(), stop.seq);
        auto ended = stop.endedBy ? entryAt(reader.session(), *stop.endedBy) : entry;
        auto signature = stop.endedBy ? signatureOf(reader, *stop.endedBy)
                                      : Result<std::optional<Record<acts::ReturnStep>>>(std::optional<Record<acts::ReturnStep>>());
        if (!entry || !ended || !signature)
            return !entry ? entry.error() : !ended ? ended.error() : signature.error();
        told.push_back({ stop, *entry ? (*entry)->person : std::string(), stop.endedBy && *ended ? (*ended)->person : std::string(),
            std::move(signature).value() });
    }
    return told;
}

Result<std::vector<ToldStop>> stopsOf(Reader& reader, const MonthReading& reading)
{
    const Moment start = reader.zone().startOf(firstDayOf(reading.figures.month));
    const Moment end = reader.zone().endOf(lastDayOf(reading.figures.month));
    std::vector<StopRecord> stood;
    for (const auto& meter : reading.meters) {
        if (std::ranges::find(reading.figures.meters, meter.meter.act.meter, &MeterMonth::meter) == reading.figures.meters.end())
            continue;
        std::ranges::copy_if(meter.stops, std::back_inserter(stood),
            [&](const StopRecord& stop) { return stop.stop.at < end && (!stop.endedAt || *stop.endedAt >= start); });
    }
    std::ranges::stable_sort(stood, {}, [](const StopRecord& stop) { return stop.stop.at; });
    return toldStops(reader, stood);
}

Result<ChainPlace> chainPlaceOf(Reader& reader)
{
    const auto head = headOf(reader.session());
    if (!head)
        return head.error();
    if (head->seq <= reader.asOf())
        return ChainPlace { head->seq, head->digest };
    const auto entry = entryAt(reader.session(), reader.asOf());
    if (!entry)
        return entry.error();
    if (!*entry)
        return base::fault(FaultKind::Damaged, "entry %1 is not in the journal; run verify", reader.asOf().value);
    return ChainPlace { (*entry)->seq, (*entry)->digest };
}

} // namespace mk::store
