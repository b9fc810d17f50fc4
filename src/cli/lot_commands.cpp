// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/lot_commands.h"

#include "cli/board_output.h"
#include "cli/output.h"
#include "store/read/lot_records.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QStringList>

#include <algorithm>
#include <array>
#include <map>

namespace mk::cli {

using namespace registry;
using base::Result;
using registry::TracedLot;
using registry::TracedVial;
using store::TracedRun;

namespace {

void writeWhen(JsonWriter& json, const std::optional<base::Moment>& moment, const Zone& zone)
{
    if (moment)
        writeMoment(json, *moment, zone);
    else
        json.null();
}

void writeVial(JsonWriter& json, const TracedVial& vial, const Zone& zone)
{
    json.beginObject().key("vial").value(vial.vial).key("lot").value(vial.lot).key("kind").value(vial.strip ? "strip" : "control");
    json.key("ward").value(vial.ward ? std::optional(vial.ward->value) : std::nullopt).key("state").value(word(vial.state)).key("opened");
    writeWhen(json, vial.opened, zone);
    json.key("last_day").value(vial.lastDay ? std::optional(base::toText(*vial.lastDay)) : std::nullopt).key("ended");
    writeWhen(json, vial.ended ? std::optional(vial.ended->act.at) : std::nullopt, zone);
    json.endObject();
}

void writeVials(JsonWriter& json, std::string_view key, const std::vector<TracedVial>& vials, const Zone& zone)
{
    json.key(key).beginArray();
    for (const auto& vial : vials)
        writeVial(json, vial, zone);
    json.endArray();
}

std::vector<std::string> meterNames(const std::vector<base::MeterId>& meters)
{
    std::vector<std::string> all;
    for (const auto& meter : meters)
        all.push_back(meter.value);
    return all;
}

std::vector<std::string> stripVialsOf(const std::vector<TracedVial>& vials)
{
    std::vector<std::string> ids;
    for (const auto& vial : vials)
        if (vial.strip)
            ids.push_back(vial.vial);
    return ids;
}

/// What hangs on some runs: the meters with first and last use, the decisions, the clearances that rest on them alone.
struct RunSummary {
    std::map<base::MeterId, store::Use> meters;
    std::vector<base::MeterId> onlyBy;
    std::vector<std::string> comparisons, eqa;
    std::map<std::string, std::size_t> verdicts; ///< sets' runs by verdict
    std::size_t runs = 0, sets = 0;
};

Result<RunSummary> summaryOf(
    store::Reader& reader, const std::vector<TracedRun>& runs, const std::vector<std::string>& stripVials, base::Moment at)
{
    RunSummary summary;
    summary.meters = store::usesByMeter(runs);
    summary.runs = runs.size();
    std::vector<base::SetId> sets;
    for (const auto& run : runs) {
        ++summary.verdicts[std::string(word(run.verdict))];
        sets.push_back(run.set);
    }
    std::ranges::sort(sets);
    summary.sets = static_cast<std::size_t>(std::ranges::unique(sets).begin() - sets.begin());
    auto only = store::clearedOnlyBy(reader, runs, at);
    auto comparisons = store::comparisonsOn(reader, stripVials);
    auto eqa = store::eqaOn(reader, stripVials);
    if (!only || !comparisons || !eqa)
        return !only ? only.error() : !comparisons ? comparisons.error() : eqa.error();
    summary.onlyBy = std::move(only).value();
    summary.comparisons = std::move(comparisons).value();
    summary.eqa = std::move(eqa).value();
    return summary;
}

void writeSummary(JsonWriter& json, const RunSummary& summary, const Zone& zone)
{
    json.key("runs").value(summary.runs).key("sets").value(summary.sets).key("verdicts").beginObject();
    for (const auto& [verdict, n] : summary.verdicts)
        json.key(verdict).value(n);
    json.endObject().key("meters").beginArray();
    for (const auto& [meter, use] : summary.meters) {
        json.beginObject().key("meter").value(meter.value).key("first");
        writeMoment(json, use.first, zone);
        json.key("last");
        writeMoment(json, use.last, zone);
        json.key("runs").value(use.runs).endObject();
    }
    json.endArray().key("cleared_only_by_it").array(meterNames(summary.onlyBy));
    json.key("comparisons").array(summary.comparisons).key("eqa").array(summary.eqa);
}

struct LotTexts {
    Q_DECLARE_TR_FUNCTIONS(Lots)
};

QString listedMeters(const std::vector<base::MeterId>& meters)
{
    return words::listed(meterNames(meters));
}

std::string summaryInWords(const RunSummary& summary, const Zone& zone)
{
    QStringList lines { LotTexts::tr("%1 runs in %2 sets on %3 meters.")
                            .arg(QString::number(summary.runs), QString::number(summary.sets), QString::number(summary.meters.size())) };
    for (const auto& [meter, use] : summary.meters)
        lines << QStringLiteral("  ")
                + LotTexts::tr("%1: %2 runs, %3 to %4")
                      .arg(words::text(meter.value), QString::number(use.runs), words::full(use.first, zone), words::full(use.last, zone));
    for (const auto& [verdict, n] : summary.verdicts) {
        const auto known = valueOf<Verdict>(verdict);
        lines << QStringLiteral("  ")
                + LotTexts::tr("%1 runs %2").arg(QString::number(n), known ? words::verdictInList(*known) : words::text(verdict));
    }
    lines << (summary.onlyBy.empty() ? LotTexts::tr("Cleared by it alone: no meter.")
                                     : LotTexts::tr("Cleared by it alone: %1.").arg(listedMeters(summary.onlyBy)));
    if (!summary.comparisons.empty())
        lines << LotTexts::tr("Comparisons: %1.").arg(words::listed(summary.comparisons));
    if (!summary.eqa.empty())
        lines << LotTexts::tr("Proficiency samples: %1.").arg(words::listed(summary.eqa));
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

std::string vialsInWords(std::vector<TracedVial> vials)
{
    std::ranges::stable_sort(vials, {}, [](const TracedVial& v) { return std::pair(v.ward ? v.ward->value : std::string(), v.state); });
    std::vector<std::vector<std::string>> table { { LotTexts::tr("vial").toStdString(), LotTexts::tr("ward").toStdString(),
        LotTexts::tr("state").toStdString(), LotTexts::tr("usable through").toStdString() } };
    for (const auto& vial : vials)
        table.push_back({ vial.vial, vial.ward ? vial.ward->value : "", words::vialState(vial.state).toStdString(),
            vial.lastDay ? base::toText(*vial.lastDay) : "" });
    return vials.empty() ? LotTexts::tr("No vial is on record.").toStdString() + "\n" : alignedTable(table);
}

void writeLotHead(JsonWriter& json, const TracedLot& lot, const Zone& zone)
{
    json.key("lot").value(lot.lot).key("kind").value(lot.strip ? "strip" : "control").key("state").value(word(lot.state));
    json.key("expiry").value(lot.expiry() ? std::optional(lot.expiry()->typed) : std::nullopt).key("received");
    writeWhen(json, lot.strip ? lot.strip->lot.received : lot.control->lot.received, zone);
    json.key("released");
    writeWhen(json, lot.released ? std::optional(lot.released->act.at) : lot.strip ? lot.strip->lot.released : std::nullopt, zone);
    json.key("released_by")
        .value(lot.released ? std::optional(lot.released->act.by.value) : std::nullopt)
        .key("released_elsewhere")
        .value(lot.released ? lot.released->act.releasedElsewhere : std::nullopt)
        .key("unopened")
        .value(lot.unopened);
    json.key("shipments").beginArray();
    for (const auto& shipment : lot.shipments) {
        json.beginObject().key("shipment").value(shipment.act.shipment).key("at");
        writeMoment(json, shipment.act.at, zone);
        json.key("operator")
            .value(shipment.act.by.value)
            .key("vials")
            .value(shipment.act.vials ? std::optional(shipment.act.vials->mantissa()) : std::nullopt);
        json.key("condition")
            .value(shipment.act.condition)
            .key("indicator")
            .value(shipment.act.indicator)
            .key("place")
            .value(shipment.act.place);
        json.key("seq").value(shipment.seq.value).endObject();
    }
    json.endArray();
}

std::string lotInWords(const TracedLot& lot, const Zone& zone)
{
    const QString id = words::text(lot.lot), state = words::lotState(lot.state);
    QStringList sentences { (lot.strip ? LotTexts::tr("Strip lot %1 is %2.") : LotTexts::tr("Control lot %1 is %2.")).arg(id, state) };
    if (lot.released)
        sentences
            << LotTexts::tr("Released by %1 on %2.").arg(words::text(lot.released->act.by.value), words::full(lot.released->act.at, zone));
    if (lot.released && lot.released->act.releasedElsewhere)
        sentences << words::releasedElsewhere(*lot.released->act.releasedElsewhere);
    if (lot.unopened)
        sentences << LotTexts::tr("Unopened: %1.").arg(QString::number(*lot.unopened));
    QString text = sentences.join(QLatin1Char(' ')) + QLatin1Char('\n');
    for (const auto& shipment : lot.shipments) {
        const QString number = words::text(shipment.act.shipment), at = words::full(shipment.act.at, zone),
                      by = words::text(shipment.act.by.value);
        text += QStringLiteral("  ")
            + (shipment.act.vials
                    ? LotTexts::tr("shipment %1 received %2 by %3, %4 vials").arg(number, at, by, words::text(shipment.act.vials->typed()))
                    : LotTexts::tr("shipment %1 received %2 by %3").arg(number, at, by))
            + QLatin1Char('\n');
    }
    return text.toStdString();
}

using Print = std::function<int(OpenRegistry&)>;

int readAnd(const Globals& globals, const Print& print)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view)
        return printFault(view.error());
    return print(*open);
}

int printJson(JsonWriter& json)
{
    return printText(json.text() + "\n");
}

int traceLotOf(const Globals& globals, OpenRegistry& open, const std::string& id)
{
    store::Reader& reader = *open.reader;
    const auto lot = registry::traceLot(reader, id, open.at);
    const auto runs = lot ? store::runsOfLot(reader, id) : Result<std::vector<TracedRun>>(lot.error());
    const auto summary = runs ? summaryOf(reader, *runs, stripVialsOf(lot->vials), open.at) : Result<RunSummary>(runs.error());
    if (!summary)
        return printFault(summary.error());
    if (!globals.json)
        return printText(lotInWords(*lot, reader.zone()) + vialsInWords(lot->vials) + summaryInWords(*summary, reader.zone()));
    JsonWriter json;
    json.beginObject().key("format").value(1);
    writeLotHead(json, *lot, reader.zone());
    writeVials(json, "vials", lot->vials, reader.zone());
    writeSummary(json, *summary, reader.zone());
    json.endObject();
    return printJson(json);
}

int traceVialOf(const Globals& globals, OpenRegistry& open, const std::string& id)
{
    store::Reader& reader = *open.reader;
    const auto vial = registry::traceVial(reader, id, open.at);
    const auto runs = vial ? store::runsOfVial(reader, id) : Result<std::vector<TracedRun>>(vial.error());
    const auto summary = runs ? summaryOf(reader, *runs, stripVialsOf({ *vial }), open.at) : Result<RunSummary>(runs.error());
    if (!summary)
        return printFault(summary.error());
    if (!globals.json)
        return printText(LotTexts::tr("Vial %1 of lot %2.").arg(words::text(id), words::text(vial->lot)).toStdString() + "\n"
            + vialsInWords({ *vial }) + summaryInWords(*summary, reader.zone()));
    JsonWriter json;
    json.beginObject().key("format").value(1).key("about");
    writeVial(json, *vial, reader.zone());
    writeSummary(json, *summary, reader.zone());
    json.endObject();
    return printJson(json);
}

/// Strip lots, control lots, strip vials, control vials, each with its use.
using Materials = std::array<std::map<std::string, store::Use>, 4>;

std::string materialsTable(const Materials& materials, const Zone& zone)
{
    const QString names[] = { LotTexts::tr("strip lot"), LotTexts::tr("control lot"), LotTexts::tr("strip vial"),
        LotTexts::tr("control vial") };
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column :
        { LotTexts::tr("material"), LotTexts::tr("id"), LotTexts::tr("runs"), LotTexts::tr("first"), LotTexts::tr("last") })
        table.front().push_back(column.toStdString());
    for (std::size_t i = 0; i < materials.size(); ++i)
        for (const auto& [what, each] : materials[i])
            table.push_back({ names[i].toStdString(), what, std::to_string(each.runs), words::full(each.first, zone).toStdString(),
                words::full(each.last, zone).toStdString() });
    return alignedTable(table);
}

int traceMeterOf(const Globals& globals, OpenRegistry& open, const std::string& id)
{
    store::Reader& reader = *open.reader;
    const auto meter = reader.meter(base::MeterId(id));
    const auto runs = store::runsOfMeter(reader, base::MeterId(id));
    if (!meter || !runs)
        return printFault(meter ? runs.error() : meter.error());
    if (*meter == nullptr)
        return printFault(base::fault(base::FaultKind::NotFound, "no meter is called '%1'; check its label or see the board", id));
    Materials materials;
    const auto use = [](std::map<std::string, store::Use>& uses, const std::string& what, base::Moment at) {
        if (what.empty())
            return;
        auto& each = uses.try_emplace(what, store::Use { at, at }).first->second;
        each.first = std::min(each.first, at);
        each.last = std::max(each.last, at);
        ++each.runs;
    };
    for (const auto& run : *runs) {
        use(materials[0], run.stripLot, run.at);
        use(materials[1], run.controlLot, run.at);
        use(materials[2], run.stripVial, run.at);
        use(materials[3], run.controlVial, run.at);
    }
    static constexpr const char* kKeys[] = { "strip_lots", "control_lots", "strip_vials", "control_vials" };
    if (globals.json) {
        JsonWriter json;
        json.beginObject().key("format").value(1).key("meter").value(id).key("runs").value(runs->size());
        for (std::size_t i = 0; i < 4; ++i) {
            json.key(kKeys[i]).beginArray();
            for (const auto& [what, each] : materials[i]) {
                json.beginObject().key("id").value(what).key("first");
                writeMoment(json, each.first, reader.zone());
                json.key("last");
                writeMoment(json, each.last, reader.zone());
                json.key("runs").value(each.runs).endObject();
            }
            json.endArray();
        }
        json.endObject();
        return printJson(json);
    }
    const QString head = LotTexts::tr("Meter %1: %2 control runs.").arg(words::text(id), QString::number(runs->size()));
    return printText(head.toStdString() + "\n" + (runs->empty() ? std::string() : materialsTable(materials, reader.zone())));
}

std::string noticeInWords(
    const NoticeRecord& notice, const std::vector<base::MeterId>& meters, const std::vector<std::string>& left, const Zone& zone)
{
    const QString known = words::full(notice.known, zone);
    QStringList lines { LotTexts::tr("Notice %1: %2").arg(words::text(notice.notice.notice), words::text(notice.notice.text)),
        notice.closed ? LotTexts::tr("Recorded %1, closed %2.").arg(known, words::full(*notice.closed, zone))
                      : LotTexts::tr("Recorded %1, open.").arg(known),
        meters.empty() ? LotTexts::tr("Meters: none.") : LotTexts::tr("Meters: %1.").arg(listedMeters(meters)) };
    for (const auto& item : notice.items)
        lines << QStringLiteral("  ")
                + LotTexts::tr("%1: %2 (%3, %4)")
                      .arg(words::text(item.act.item), words::text(item.act.action), words::text(item.act.by.value),
                          words::full(item.act.at, zone));
    lines << (left.empty() ? LotTexts::tr("Without action: nothing.") : LotTexts::tr("Without action: %1.").arg(words::listed(left)));
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

int traceNoticeOf(const Globals& globals, OpenRegistry& open, const std::string& id)
{
    store::Reader& reader = *open.reader;
    const auto notices = reader.notices();
    if (!notices)
        return printFault(notices.error());
    const auto notice = std::ranges::find(**notices, id, [](const NoticeRecord& n) { return n.notice.notice; });
    if (notice == (*notices)->end())
        return printFault(
            base::fault(base::FaultKind::NotFound, "no notice is called '%1'; record it first, or check how it is written", id));
    const auto hits = registry::hitsOf(reader, notice->notice, open.at);
    if (!hits)
        return printFault(hits.error());
    std::vector<TracedRun> runs;
    std::optional<TracedLot> lot;
    if (notice->notice.lot) {
        const auto ofLot = store::runsOfLot(reader, *notice->notice.lot);
        auto traced = registry::traceLot(reader, *notice->notice.lot, open.at);
        if (!ofLot)
            return printFault(ofLot.error());
        if (traced)
            lot = std::move(traced).value();
        for (const auto& run : *ofLot)
            if (!hits->lots.empty() || std::ranges::any_of(hits->vials, [&](const TracedVial& v) {
                    return v.vial == run.stripVial || v.vial == run.controlVial;
                }))
                runs.push_back(run);
    }
    const std::vector<TracedVial> vials = hits->lots.empty() || !lot ? hits->vials : lot->vials;
    const auto summary = summaryOf(reader, runs, stripVialsOf(vials), open.at);
    if (!summary)
        return printFault(summary.error());
    const auto left = registry::itemsLeft(*hits, *notice);
    if (!globals.json) {
        std::string text = noticeInWords(*notice, hits->meters, left, reader.zone());
        text += (lot ? lotInWords(*lot, reader.zone()) : std::string()) + vialsInWords(vials) + summaryInWords(*summary, reader.zone());
        return printText(text);
    }
    JsonWriter json;
    json.beginObject().key("format").value(1).key("notice").value(id).key("text").value(notice->notice.text).key("recorded");
    writeMoment(json, notice->known, reader.zone());
    json.key("closed");
    writeWhen(json, notice->closed, reader.zone());
    json.key("hit_meters").array(meterNames(hits->meters)).key("hit_lots").array(hits->lots);
    writeVials(json, "vials", vials, reader.zone());
    json.key("unopened").value(lot ? lot->unopened : std::nullopt).key("actions").beginArray();
    for (const auto& item : notice->items) {
        json.beginObject()
            .key("item")
            .value(item.act.item)
            .key("action")
            .value(item.act.action)
            .key("proof")
            .value(item.act.proof)
            .key("operator")
            .value(item.act.by.value);
        json.key("at");
        writeMoment(json, item.act.at, reader.zone());
        json.endObject();
    }
    json.endArray().key("without_action").array(left);
    writeSummary(json, *summary, reader.zone());
    json.endObject();
    return printJson(json);
}

int traceExcursionOf(const Globals& globals, OpenRegistry& open, std::int64_t entry)
{
    store::Reader& reader = *open.reader;
    const auto all = reader.facts<acts::ExcursionReported>();
    if (!all)
        return printFault(all.error());
    const auto found = std::ranges::find(*all, entry, [](const auto& e) { return e.seq.value; });
    if (found == all->end())
        return printFault(base::fault(base::FaultKind::NotFound, "entry %1 reports no excursion", entry));
    const auto runs = store::runsInExcursion(reader, found->act);
    const auto vials = registry::vialsInExcursion(reader, found->act, open.at);
    if (!runs || !vials)
        return printFault(runs ? vials.error() : runs.error());
    if (!globals.json) {
        const Zone& zone = reader.zone();
        QStringList lines { LotTexts::tr("%1 runs with these vials lie in it.").arg(runs->size()) };
        for (const auto& run : *runs)
            lines << QStringLiteral("  ")
                    + LotTexts::tr("%1, %2: %3 %4, %5")
                          .arg(words::text(run.meter.value), words::full(run.at, zone), words::level(run.level),
                              words::text(toText(run.result)), words::verdictInList(run.verdict));
        const QString head = LotTexts::tr("Excursion on ward %1, %2 to %3.")
                                 .arg(words::text(found->act.ward.value), words::full(found->act.from, zone),
                                     words::full(found->act.to, zone));
        return printText(head.toStdString() + "\n" + vialsInWords(*vials) + lines.join(QLatin1Char('\n')).toStdString() + "\n");
    }
    JsonWriter json;
    json.beginObject().key("format").value(1).key("entry").value(entry).key("ward").value(found->act.ward.value);
    writeVials(json, "vials", *vials, reader.zone());
    json.key("runs").beginArray();
    for (const auto& run : *runs) {
        json.beginObject().key("seq").value(run.seq.value).key("set").value(run.set.value).key("meter").value(run.meter.value).key("at");
        writeMoment(json, run.at, reader.zone());
        json.key("level")
            .value(word(run.level))
            .key("result")
            .value(toText(run.result))
            .key("verdict")
            .value(word(run.verdict))
            .endObject();
    }
    json.endArray().endObject();
    return printJson(json);
}

} // namespace

void addLotCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto* trace = app.add_subcommand("trace", "Which lots, vials, meters and decisions hang together")->fallthrough();
    trace->require_subcommand(1);
    addExample(*trace, "--registry ward5.mkr trace lot S2611");
    const auto add = [&](const char* name, const char* what, int (*run)(const Globals&, OpenRegistry&, const std::string&)) {
        auto id = std::make_shared<std::string>();
        auto* command = trace->add_subcommand(name, what)->fallthrough();
        command->add_option("id", *id)->required();
        command->callback([&globals, &chosen, id, run] {
            chosen = [&globals, id, run] { return readAnd(globals, [&](OpenRegistry& open) { return run(globals, open, *id); }); };
        });
    };
    add("lot", QT_TRANSLATE_NOOP("Help", "A lot: receipts, release, vials, meters, runs, what it alone clears"), traceLotOf);
    add("vial", QT_TRANSLATE_NOOP("Help", "A vial: where it is, and what was run with it"), traceVialOf);
    add("meter", QT_TRANSLATE_NOOP("Help", "A meter: the lots and vials that it ran with, first and last use"), traceMeterOf);
    add("notice", QT_TRANSLATE_NOOP("Help", "A maker's notice: what it hits, what was done about each"), traceNoticeOf);
    auto entry = std::make_shared<std::int64_t>(0);
    auto* excursion = trace->add_subcommand("excursion", "An excursion: the vials in it and the runs made with them")->fallthrough();
    excursion->add_option("entry", *entry, "The entry that reported it")->required();
    excursion->callback([&globals, &chosen, entry] {
        chosen = [&globals, entry] {
            return readAnd(globals, [&](OpenRegistry& open) { return traceExcursionOf(globals, open, *entry); });
        };
    });
    addStockCommand(app, globals, chosen);
}

} // namespace mk::cli
