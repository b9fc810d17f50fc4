// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/meter_file_output.h"

#include "cli/board_output.h"
#include "base/unread.h"
#include "words/numbers.h"
#include "words/whole_life.h"

#include <QCoreApplication>

namespace mk::cli {

using namespace registry;
using base::Done;

namespace {

struct LifeTableTexts {
    Q_DECLARE_TR_FUNCTIONS(MeterFile)
};

std::optional<std::string> yesNo(const std::optional<YesNo>& answer)
{
    return answer ? std::optional(std::string(word(*answer))) : std::nullopt;
}

/// The newest text that was given for a field.
std::optional<std::string> newest(
    const std::vector<Record<acts::MeterDescribed>>& all, std::optional<std::string> acts::MeterDescribed::*field, base::Moment at)
{
    std::optional<std::string> text;
    for (const auto& each : all)
        if (each.act.at <= at && each.act.*field)
            text = each.act.*field;
    return text;
}

void writeFirmware(JsonWriter& json, const std::vector<Record<acts::MeterDescribed>>& all, base::Moment at, const Zone& zone)
{
    json.key("firmware").beginArray();
    std::optional<std::string> last;
    for (const auto& each : all) {
        if (each.act.at > at || !each.act.firmware || each.act.firmware == last)
            continue;
        last = each.act.firmware;
        json.beginObject().key("version").value(last).key("at");
        writeMoment(json, each.act.at, zone);
        json.key("operator").value(each.act.by.value).key("seq").value(each.seq.value).endObject();
    }
    json.endArray();
}

void writeWards(JsonWriter& json, const std::vector<registry::WardSpell>& spells, const Zone& zone)
{
    json.key("wards").beginArray();
    for (std::size_t i = 0; i < spells.size(); ++i) {
        json.beginObject().key("ward").value(spells[i].ward.value).key("from");
        writeMoment(json, spells[i].since, zone);
        json.key("to");
        if (i + 1 < spells.size())
            writeMoment(json, spells[i + 1].since, zone);
        else
            json.null();
        json.key("seq").value(spells[i].seq.value).endObject();
    }
    json.endArray();
}

void writeAcceptance(JsonWriter& json, const std::vector<Record<acts::AcceptanceChecked>>& checks, base::Moment at, const Zone& zone)
{
    json.key("acceptance").beginArray();
    for (const auto& each : checks) {
        if (each.act.at > at)
            continue;
        json.beginObject().key("item").value(word(each.act.item)).key("met").value(each.act.met == YesNo::Yes).key("at");
        writeMoment(json, each.act.at, zone);
        json.key("operator").value(each.act.by.value).key("evidence").value(each.act.evidence).key("seq").value(each.seq.value).endObject();
    }
    json.endArray();
}

void writeMovements(JsonWriter& json, const std::vector<Record<acts::MeterMoved>>& movements, base::Moment at, const Zone& zone)
{
    json.key("movements").beginArray();
    for (const auto& each : movements) {
        const auto& moved = each.act;
        if (moved.at > at)
            continue;
        json.beginObject().key("at");
        writeMoment(json, moved.at, zone);
        json.key("operator")
            .value(moved.by.value)
            .key("to_state")
            .value(moved.toState ? std::optional(std::string(word(*moved.toState))) : std::nullopt);
        json.key("to_ward").value(moved.toWard ? std::optional(moved.toWard->value) : std::nullopt).key("reason").value(moved.reason);
        json.key("document")
            .value(moved.document)
            .key("memory_cleared")
            .value(yesNo(moved.memoryCleared))
            .key("labelled")
            .value(yesNo(moved.labelled));
        json.key("replacement").value(moved.replacement).key("last_seen").value(moved.lastSeen).key("condition").value(moved.condition);
        json.key("seq").value(each.seq.value).endObject();
    }
    json.endArray();
}

} // namespace

base::Result<std::pair<base::MeterId, std::string>> theMeterCalled(store::Reader& reader, const std::string& text)
{
    const auto found = reader.metersCalled(text);
    if (!found)
        return found.error();
    if (found->empty())
        return base::fault(
            base::FaultKind::NotFound, "no meter is called '%1', by id, serial or UDI; check its label or see the board", text);
    if (found->size() == 1)
        return found->front();
    std::string ids;
    for (const auto& each : *found)
        ids += (ids.empty() ? "" : ", ") + each.first.value;
    return base::fault(
        base::FaultKind::Conflict, "several meters have the %1 '%2': %3; name one of them by its id", found->front().second, text, ids);
}

void writeStops(JsonWriter& json, const std::vector<store::ToldStop>& stops, const Zone& zone)
{
    json.key("stops").beginArray();
    for (const auto& [record, stoppedBy, endedBy, signature] : stops) {
        json.beginObject().key("meter").value(record.stop.meter.value).key("state").value(record.stop.withdrawn ? "withdrawn" : "on-hold");
        json.key("at");
        writeMoment(json, record.stop.at, zone);
        json.key("cause").value(record.stop.cause).key("because").value(record.stop.because.value).key("stopped_by").value(stoppedBy);
        json.key("seq").value(record.seq.value).key("ended_at");
        if (record.endedAt)
            writeMoment(json, *record.endedAt, zone);
        else
            json.null();
        json.key("ended_by").value(record.endedBy ? std::optional(endedBy) : std::nullopt);
        json.key("ended_seq").value(record.endedBy ? std::optional(record.endedBy->value) : std::nullopt);
        json.key("signed_by").value(signature ? std::optional(signature->act.by.value) : std::nullopt);
        json.key("signed_seq").value(signature ? std::optional(signature->seq.value) : std::nullopt).endObject();
    }
    json.endArray();
}

void writeLife(JsonWriter& json, const std::vector<LifeEvent>& life, const Zone& zone)
{
    json.key("life").beginArray();
    for (const auto& event : life) {
        json.beginObject().key("at");
        writeMoment(json, event.at, zone);
        json.key("what").value(word(event.what)).key("by").value(event.by ? std::optional(event.by->value) : std::nullopt);
        json.key("code").value(event.code.empty() ? std::nullopt : std::optional(event.code));
        json.key("detail").value(event.text.empty() ? std::nullopt : std::optional(event.text));
        json.key("state").value(event.state ? std::optional(std::string(word(*event.state))) : std::nullopt);
        json.key("ward").value(event.ward ? std::optional(event.ward->value) : std::nullopt);
        json.key("text").value(words::lifeSaid(event).trimmed().toStdString()).key("evidence").beginArray();
        for (const auto seq : event.evidence)
            json.value(seq.value);
        json.endArray().endObject();
    }
    json.endArray();
}

std::string lifeInWords(const std::vector<LifeEvent>& life, const Zone& zone)
{
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column :
        { LifeTableTexts::tr("when"), LifeTableTexts::tr("by"), LifeTableTexts::tr("entries"), LifeTableTexts::tr("what happened") })
        table.front().push_back(column.toStdString());
    for (const auto& event : life) {
        QStringList entries;
        for (const auto seq : event.evidence)
            entries << QString::number(seq.value);
        table.push_back({ words::full(event.at, zone).toStdString(), event.by ? event.by->value : std::string(),
            entries.join(QStringLiteral(", ")).toStdString(), words::lifeSaid(event).trimmed().toStdString() });
    }
    return alignedTable(table);
}

Done writeMeterFile(JsonWriter& json, store::Reader& reader, const MeterRecord& meter, base::Moment at)
{
    const std::string id = meter.act.meter.value;
    const auto described = reader.facts<acts::MeterDescribed>(id);
    const auto checks = reader.facts<acts::AcceptanceChecked>(id);
    const auto movements = reader.facts<acts::MeterMoved>(id);
    const auto spells = reader.wardSpells(meter.act.meter, at);
    const auto transfer = reader.transferOf(meter.act.meter, at);
    auto stops = reader.stops(meter.act.meter);
    if (!described || !checks || !movements || !spells || !transfer || !stops)
        return base::unread("the file of '%1' cannot be read; run verify", id, described, checks, movements, spells, transfer, stops);
    std::erase_if(*stops, [&](const StopRecord& stop) { return stop.stop.at > at; });
    for (auto& stop : *stops)
        if (stop.endedAt && *stop.endedAt > at)
            stop.endedAt.reset(), stop.endedBy.reset();
    const auto told = store::toldStops(reader, *stops);
    if (!told)
        return told.error();
    using D = acts::MeterDescribed;
    json.key("file").beginObject().key("maker").value(newest(*described, &D::maker, at)).key("model").value(meter.act.model.value);
    json.key("serial")
        .value(meter.act.serial)
        .key("udi")
        .value(newest(*described, &D::udi, at))
        .key("condition")
        .value(newest(*described, &D::condition, at));
    writeFirmware(json, *described, at, reader.zone());
    json.key("insert_edition").value(newest(*described, &D::insert, at)).key("claims").value(newest(*described, &D::claims, at));
    json.key("disinfectant")
        .value(newest(*described, &D::disinfectant, at))
        .key("contact_time")
        .value(newest(*described, &D::contactTime, at));
    json.key("custodian").value(spells->empty() ? meter.act.ward.value : spells->back().ward.value);
    json.key("arrival_confirmed").value(*transfer ? std::optional((*transfer)->confirmedBy.has_value()) : std::nullopt);
    writeWards(json, *spells, reader.zone());
    writeAcceptance(json, *checks, at, reader.zone());
    writeMovements(json, *movements, at, reader.zone());
    writeStops(json, *told, reader.zone());
    json.endObject();
    return {};
}

} // namespace mk::cli
