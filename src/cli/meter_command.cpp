// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/meter_command.h"

#include "cli/board_output.h"
#include "cli/control_output.h"
#include "cli/failure_output.h"
#include "cli/meter_file_output.h"
#include "base/unread.h"
#include "cli/quality_output.h"
#include "cli/registry_commands.h"
#include "cli/output.h"
#include "words/numbers.h"
#include "words/return_steps.h"
#include "words/terms.h"
#include "registry/comparison/comparison.h"
#include "words/policy.h"

#include <QCoreApplication>

#include <limits>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

void writeIncidents(JsonWriter& json, const std::vector<IncidentRecord>& incidents, base::Moment at, const Zone& zone)
{
    json.key("incidents").beginArray();
    for (const auto& incident : incidents) {
        if (incident.act.at > at)
            continue;
        json.beginObject().key("at");
        writeMoment(json, incident.act.at, zone);
        json.key("noticed_at");
        writeMoment(json, incident.act.noticedAt.value_or(incident.act.at), zone);
        json.key("kind")
            .value(word(incident.act.what))
            .key("operator")
            .value(incident.act.by.value)
            .key("detail")
            .value(incident.act.detail);
        json.key("agent").value(incident.act.agent);
        json.key("contact_time_kept")
            .value(incident.act.contactTimeKept ? std::optional(std::string(word(*incident.act.contactTimeKept))) : std::nullopt);
        json.key("seq").value(incident.seq.value).endObject();
    }
    json.endArray();
}

void writeComparisons(JsonWriter& json, const std::vector<PairRecord>& pairs, base::Moment at, const store::Reader& reader)
{
    const Zone& zone = reader.zone();
    json.key("comparisons").beginArray();
    for (const auto& pair : pairs) {
        if (pair.judged.at > at)
            continue;
        json.beginObject().key("pair").value(pair.pair.pair.value).key("at");
        writeMoment(json, pair.judged.at, zone);
        json.key("meter_result")
            .value(toText(pair.pair.meterResult))
            .key("lab_result")
            .value(toText(pair.pair.labResult))
            .key("unit")
            .value(base::toText(pair.pair.unit));
        json.key("round")
            .value(pair.pair.round)
            .key("outcome")
            .value(word(pair.judged.outcome))
            .key("limits")
            .value(pair.judged.limits)
            .key("excluded_because")
            .array(pair.judged.excludedBecause);
        const Policy& policy = reader.policyAt(pair.judged.at);
        const bool beyond = beyondTarget(pair, policy);
        json.key("minutes_apart").value(minutesApart(pair.pair)).key("beyond_target").value(beyond).key("mark");
        json.value(beyond
                ? std::optional(words::beyondPairTarget(static_cast<int>(minutesApart(pair.pair)), policy.pairTargetMinutes).toStdString())
                : std::nullopt);
        json.key("seq").value(pair.seq.value).endObject();
    }
    json.endArray();
}

void writeDrift(JsonWriter& json, const MeterHistory& history, const Zone& zone)
{
    json.key("drift");
    if (!history.newestCounted) {
        json.null();
        return;
    }
    const auto& drift = history.newestCounted->judged.drift;
    json.beginObject().key("signals").array(drift.flags).key("began");
    if (const auto began = drift.driftsSince())
        writeMoment(json, *began, zone);
    else
        json.null();
    json.key("ewma")
        .value(drift.ewma)
        .key("cusum_high")
        .value(drift.cusumHigh)
        .key("cusum_low")
        .value(drift.cusumLow)
        .key("sets")
        .value(drift.n);
    json.key("beyond_half_limit").value(drift.beyondHalfLimit).key("bias").beginArray();
    for (const auto& bias : drift.bias)
        json.beginObject()
            .key("level")
            .value(word(bias.level))
            .key("bias")
            .value(bias.bias)
            .key("percent")
            .value(bias.percent)
            .key("n")
            .value(bias.n)
            .endObject();
    json.endArray().endObject();
}

void writeReturnOwed(JsonWriter& json, const std::vector<OwedForReturn>& owed)
{
    json.key("return_owed").beginArray();
    for (const auto& each : owed) {
        json.beginObject().key("step").value(word(each.what)).key("by").value(word(each.by));
        json.key("sets").value(each.sets > 0 ? std::optional<std::int64_t>(each.sets) : std::nullopt);
        json.key("text").value(mk::words::said(each).toStdString()).endObject();
    }
    json.endArray();
}

struct MeterFileTexts {
    Q_DECLARE_TR_FUNCTIONS(MeterFile)
};

/// A line of its own; nothing for an empty text.
std::string lineOf(const QString& said)
{
    return said.isEmpty() ? std::string() : said.toStdString() + "\n";
}

QString foundBy(const std::string& how)
{
    return how == "serial" ? MeterFileTexts::tr("Found by its serial.")
        : how == "udi"     ? MeterFileTexts::tr("Found by its udi.")
                           : QString();
}

std::string runsOfSet(const SetRecord& set)
{
    QStringList runs;
    for (const auto& run : set.runs) {
        const QString level = words::level(run.run.level), result = words::text(toText(run.run.result));
        runs << (run.judged.rules.empty() ? QStringLiteral("%1 %2").arg(level, result)
                                          : QStringLiteral("%1 %2 (%3)").arg(level, result, words::listed(run.judged.rules)));
    }
    return runs.join(QStringLiteral(", ")).toStdString();
}

std::string setsInWords(const std::vector<SetRecord>& sets, const Zone& zone)
{
    if (sets.empty())
        return lineOf(MeterFileTexts::tr("No control set is on record here."));
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column :
        { MeterFileTexts::tr("set"), MeterFileTexts::tr("at"), MeterFileTexts::tr("verdict"), MeterFileTexts::tr("runs") })
        table.front().push_back(column.toStdString());
    for (const auto& set : sets)
        table.push_back({ set.judged.set.value, words::full(set.judged.lastAt, zone).toStdString(),
            words::verdictInList(set.judged.verdict).toStdString(), runsOfSet(set) });
    return alignedTable(table);
}

QString setsHidden(std::size_t hidden)
{
    return hidden == 0 ? QString() : MeterFileTexts::tr("%n sets are hidden by --from and --to.", nullptr, static_cast<int>(hidden));
}

} // namespace

int runMeter(const Globals& globals, const std::string& meter, const std::string& fromText, const std::string& toText)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view) // one view, while others write
        return printFault(view.error());
    store::Reader& reader = *open->reader;
    const ReadContext context { &reader.zone(), nullptr };
    base::Moment from { std::numeric_limits<std::int64_t>::min() / 2, 0 };
    base::Moment to = open->at;
    if (!fromText.empty()) {
        const auto moment = TextForm<base::Moment>::read(fromText, context);
        if (!moment)
            return printFault(base::fault(moment.error().kind, "--from: %1", moment.error()));
        from = *moment;
    }
    if (!toText.empty()) {
        const auto moment = TextForm<base::Moment>::read(toText, context);
        if (!moment)
            return printFault(base::fault(moment.error().kind, "--to: %1", moment.error()));
        to = std::min(toText.size() == 10 ? base::plusMs(reader.zone().endOf(*base::parseDate(toText)), -1) : *moment, open->at);
    }
    const auto called = theMeterCalled(reader, meter);
    if (!called)
        return printFault(called.error());
    const auto& [id, how] = *called;
    const auto row = store::boardRow(reader, id, open->at);
    if (!row)
        return printFault(row.error());
    const auto returning = returnFileOf(reader, id, open->at);
    if (!returning)
        return printFault(returning.error());
    const auto owed = owedForReturn(returning->evidence(), reader.policyAt(open->at));
    const auto sets = reader.sets(id, from, to);
    const auto incidents = reader.incidents(id);
    const auto pairs = reader.pairs(id);
    const auto lookbacks = reader.lookbacks(id);
    if (!sets || !incidents || !pairs || !lookbacks)
        return printFault(base::unread("the file of '%1' cannot be read; run verify", meter, sets, incidents, pairs, lookbacks));
    const auto every = store::countOfSets(reader, id, open->at);
    if (!every)
        return printFault(every.error());
    const std::size_t hidden = *every - sets->size();
    const auto life = wholeLife(reader, row->history.meter, open->at);
    if (!life)
        return printFault(life.error());
    if (!globals.json)
        return printText(lineOf(foundBy(how)) + lineOf(words::owedInLine(owed)) + rowInWords(*row, reader.zone())
            + setsInWords(*sets, reader.zone()) + lineOf(setsHidden(hidden)) + "\n" + lifeInWords(*life, reader.zone()));
    JsonWriter json;
    json.beginObject().key("format").value(1).key("at");
    writeMoment(json, open->at, reader.zone());
    writeRow(json, *row, reader.zone());
    json.key("model")
        .value(row->history.meter.act.model.value)
        .key("serial")
        .value(row->history.meter.act.serial)
        .key("found_by")
        .value(how);
    if (const base::Done written = writeMeterFile(json, reader, row->history.meter, open->at); !written)
        return printFault(written.error());
    writeLife(json, *life, reader.zone());
    writeReturnOwed(json, owed);
    json.key("filters")
        .beginObject()
        .key("from")
        .value(fromText.empty() ? std::nullopt : std::optional(fromText))
        .key("to")
        .value(toText.empty() ? std::nullopt : std::optional(toText))
        .endObject();
    json.key("hidden_sets").value(hidden);
    json.key("sets").beginArray();
    for (const auto& set : *sets)
        writeSet(json, set, reader.zone(), *sets);
    json.endArray();
    writeIncidents(json, *incidents, open->at, reader.zone());
    writeComparisons(json, *pairs, open->at, reader);
    writeDrift(json, row->history, reader.zone());
    json.key("control");
    if (const base::Done control = writeControl(json, reader, id, open->at); !control)
        return printFault(control.error());
    if (const base::Done written = writeFailures(json, reader, id, *lookbacks, from, open->at); !written)
        return printFault(written.error());
    writeQuality(json, reader, *row, *pairs, open->at);
    if (globals.at && open->at.utcMs < store::machineClock()) {
        const auto then = store::asKnownThen(*open->session, id, open->at);
        if (!then)
            return printFault(then.error());
        json.key("as_known_then").beginObject().key("usable").value(*then ? (*then)->usable : false).key("reasons");
        if (*then)
            writeReasons(json, **then);
        else
            json.beginArray().endArray();
        json.endObject();
    }
    json.endObject();
    return printText(json.text() + "\n");
}

} // namespace mk::cli
