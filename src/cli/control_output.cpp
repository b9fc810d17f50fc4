// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/control_output.h"

#include "cli/board_output.h"
#include "registry/lots/expiry.h"
#include "store/journal/journal.h"

#include <algorithm>

namespace mk::cli {

using namespace registry;
using base::Done;

namespace {

void writeExpiry(JsonWriter& json, const std::optional<base::PrintedDate>& printed, const std::optional<base::Moment>& opened,
    const std::optional<base::Period>& period, const std::optional<base::Moment>& ended, const Zone& zone)
{
    json.key("lot_expiry").value(printed ? std::optional(printed->typed) : std::nullopt);
    json.key("open_period").value(period ? std::optional(base::toText(*period)) : std::nullopt).key("opened");
    opened ? writeMoment(json, *opened, zone) : static_cast<void>(json.null());
    const auto last = effectiveExpiry(printed, opened, period, zone);
    json.key("last_day").value(last ? std::optional(base::toText(last->lastDay)) : std::nullopt).key("ended");
    ended ? writeMoment(json, *ended, zone) : static_cast<void>(json.null());
}

/// The lot of a vial and until when it may be used, into the object that is open; nothing where the vial is not on record.
template <typename Vial, typename Lot>
Done writeVial(JsonWriter& json, const Vial* record, const Zone& zone, const Lot& lotOf)
{
    if (record == nullptr)
        return {};
    const auto lot = lotOf(record->vial.lot);
    if (!lot)
        return lot.error();
    json.key("lot").value(record->vial.lot.value);
    const auto ended = record->ended ? std::optional(record->ended->act.at) : std::nullopt;
    writeExpiry(
        json, *lot ? (*lot)->lot.expiry : std::nullopt, record->vial.opened, *lot ? (*lot)->lot.openPeriod : std::nullopt, ended, zone);
    return {};
}

Done writeStrips(JsonWriter& json, store::Reader& reader, const base::StripVialId& id)
{
    const auto vial = reader.stripVial(id);
    if (!vial)
        return vial.error();
    json.key("strips").beginObject().key("vial").value(id.value);
    const Done written = writeVial(json, *vial, reader.zone(), [&](const base::StripLotId& lot) { return reader.stripLot(lot); });
    json.endObject();
    return written;
}

Done writeControlVial(JsonWriter& json, store::Reader& reader, Level level, const base::ControlVialId& id)
{
    const auto vial = reader.controlVial(id);
    if (!vial)
        return vial.error();
    json.beginObject().key("level").value(word(level)).key("vial").value(id.value);
    const Done written = writeVial(json, *vial, reader.zone(), [&](const base::ControlLotId& lot) { return reader.controlLot(lot); });
    json.endObject();
    return written;
}

/// The person with the competency that held on the day of the run.
Done writePerson(JsonWriter& json, store::Reader& reader, const base::OperatorId& id, base::Moment at)
{
    const auto person = reader.person(id);
    if (!person)
        return person.error();
    json.beginObject().key("operator").value(id.value);
    if (*person != nullptr) {
        const auto& act = (*person)->act;
        const base::Date day = reader.zone().dateOf(at);
        const bool competent = act.competentFrom && *act.competentFrom <= day && act.competentUntil && day <= *act.competentUntil;
        json.key("name").value(act.name).key("role").value(word(act.role));
        json.key("competent_from").value(act.competentFrom ? std::optional(base::toText(*act.competentFrom)) : std::nullopt);
        json.key("competent_until").value(act.competentUntil ? std::optional(base::toText(*act.competentUntil)) : std::nullopt);
        json.key("competent").value(competent);
    }
    json.endObject();
    return {};
}

Done writeLastSet(JsonWriter& json, store::Reader& reader, const std::optional<SetRecord>& set)
{
    json.key("last_accepted_set");
    if (!set) {
        json.null().key("strips").null().key("controls").beginArray().endArray().key("operators").beginArray().endArray();
        return {};
    }
    writeSet(json, *set, reader.zone());
    if (!set->runs.empty())
        if (const Done strips = writeStrips(json, reader, set->runs.back().run.stripVial); !strips)
            return strips;
    json.key("controls").beginArray();
    std::vector<base::ControlVialId> vials;
    for (const auto& run : set->runs) {
        if (std::ranges::find(vials, run.run.controlVial) != vials.end())
            continue;
        vials.push_back(run.run.controlVial);
        if (const Done written = writeControlVial(json, reader, run.run.level, run.run.controlVial); !written)
            return written;
    }
    json.endArray().key("operators").beginArray();
    std::vector<base::OperatorId> people;
    for (const auto& run : set->runs) {
        if (std::ranges::find(people, run.run.by) != people.end())
            continue;
        people.push_back(run.run.by);
        if (const Done written = writePerson(json, reader, run.run.by, run.run.at); !written)
            return written;
    }
    json.endArray();
    return {};
}

Done writeKnown(JsonWriter& json, store::Reader& reader, base::Seq asOf, const base::MeterId& meter, base::Moment at)
{
    const auto record = reader.meter(meter);
    if (!record)
        return record.error();
    if (*record == nullptr) {
        json.null();
        return {};
    }
    const auto row = store::boardRow(reader, meter, at);
    if (!row)
        return row.error();
    json.beginObject().key("as_of").value(asOf.value).key("in_control").value(row->fitness.usable);
    json.key("state").value(word(row->fitness.state)).key("until");
    row->fitness.until ? writeMoment(json, *row->fitness.until, reader.zone()) : static_cast<void>(json.null());
    json.key("reasons");
    writeReasons(json, row->fitness);
    json.key("policy").value(reader.policyAt(at).version).key("rule_set").value(kRuleSet);
    if (const Done written = writeLastSet(json, reader, row->history.newestAccepted); !written)
        return written;
    json.endObject();
    return {};
}

} // namespace

Done writeControl(JsonWriter& json, store::Reader& reader, const base::MeterId& meter, base::Moment at)
{
    const auto head = store::headOf(reader.session());
    const auto last = store::lastEntryBefore(reader.session(), at.utcMs);
    if (!head || !last)
        return head ? last.error() : head.error();
    const base::Seq now = std::min(head->seq, reader.asOf());
    const base::Seq then = std::min(*last, now);
    json.beginObject().key("at");
    writeMoment(json, at, reader.zone());
    json.key("known_now");
    if (const Done written = writeKnown(json, reader, now, meter, at); !written)
        return written;
    json.key("known_then");
    if (then.value == 0) {
        json.null().endObject();
        return {};
    }
    auto earlier = store::Reader::open(reader.session(), then);
    if (!earlier)
        return earlier.error();
    if (const Done written = writeKnown(json, *earlier, then, meter, at); !written)
        return written;
    json.endObject();
    return {};
}

} // namespace mk::cli
