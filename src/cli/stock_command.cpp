// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/board_output.h"
#include "cli/lot_commands.h"
#include "cli/output.h"
#include "store/read/lot_records.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

namespace mk::cli {

using namespace registry;

namespace {

void writeStockVials(JsonWriter& json, std::string_view key, const std::vector<registry::TracedVial>& vials)
{
    json.key(key).beginArray();
    for (const auto& vial : vials)
        json.beginObject()
            .key("vial")
            .value(vial.vial)
            .key("lot")
            .value(vial.lot)
            .key("ward")
            .value(vial.ward ? std::optional(vial.ward->value) : std::nullopt)
            .key("last_day")
            .value(vial.lastDay ? std::optional(base::toText(*vial.lastDay)) : std::nullopt)
            .endObject();
    json.endArray();
}

struct StockTexts {
    Q_DECLARE_TR_FUNCTIONS(Stock)
};

QString stockVialLine(const registry::TracedVial& vial)
{
    const QString id = words::text(vial.vial), lot = words::text(vial.lot);
    const QString ward = vial.ward ? words::text(vial.ward->value) : QString();
    const QString last = vial.lastDay ? words::longDay(*vial.lastDay) : QString();
    if (vial.ward)
        return vial.lastDay ? StockTexts::tr("%1 of lot %2, ward %3, usable through %4").arg(id, lot, ward, last)
                            : StockTexts::tr("%1 of lot %2, ward %3").arg(id, lot, ward);
    return vial.lastDay ? StockTexts::tr("%1 of lot %2, usable through %3").arg(id, lot, last)
                        : StockTexts::tr("%1 of lot %2").arg(id, lot);
}

/// heading  a whole sentence with a place for how many
std::string stockVialsInWords(const QString& none, const QString& heading, const std::vector<registry::TracedVial>& vials)
{
    QString text = (vials.empty() ? none : heading.arg(vials.size())) + QLatin1Char('\n');
    for (const auto& vial : vials)
        text += QStringLiteral("  ") + stockVialLine(vial) + QLatin1Char('\n');
    return text.toStdString();
}

std::string lotRemark(bool soon, bool low)
{
    return (soon && low ? StockTexts::tr("expires soon, runs low")
            : soon      ? StockTexts::tr("expires soon")
            : low       ? StockTexts::tr("runs low")
                        : QString())
        .toStdString();
}

std::string stockHeading(const QString& said)
{
    return said.toStdString();
}

int runStock(const Globals& globals, const std::string& ward)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view)
        return printFault(view.error());
    if (const auto known = open->reader->hasWard(base::WardId(ward)); !ward.empty() && (!known || !*known))
        return printFault(
            known ? base::fault(base::FaultKind::NotFound, "no ward is called '%1'; check how it is written", ward) : known.error());
    const auto stock = store::stockOf(*open->reader, ward.empty() ? std::nullopt : std::optional(base::WardId(ward)), open->at);
    if (!stock)
        return printFault(stock.error());
    if (!globals.json) {
        std::string text = stockVialsInWords(StockTexts::tr("Open and expiring soon: none."), StockTexts::tr("Open and expiring soon: %1."),
                               stock->expiringSoon)
            + stockVialsInWords(
                StockTexts::tr("Open and expired, discard: none."), StockTexts::tr("Open and expired, discard: %1."), stock->expiredOpen)
            + stockVialsInWords(StockTexts::tr("Open without a date, discard or quarantine: none."),
                StockTexts::tr("Open without a date, discard or quarantine: %1."), stock->undated);
        std::vector<std::vector<std::string>> table { { stockHeading(StockTexts::tr("lot")), stockHeading(StockTexts::tr("state")),
            stockHeading(StockTexts::tr("expiry")), stockHeading(StockTexts::tr("unopened")), "" } };
        for (const auto& lot : stock->lots) {
            const bool soon = std::ranges::find(stock->lotsExpiringSoon, lot.lot) != stock->lotsExpiringSoon.end();
            const bool low = std::ranges::find(stock->lotsRunningLow, lot.lot) != stock->lotsRunningLow.end();
            table.push_back({ lot.lot, words::lotState(lot.state).toStdString(), lot.expiry() ? lot.expiry()->typed : "",
                lot.unopened ? std::to_string(*lot.unopened) : StockTexts::tr("not known").toStdString(), lotRemark(soon, low) });
        }
        return printText(text + (stock->lots.empty() ? StockTexts::tr("No lot is in stock.").toStdString() + "\n" : alignedTable(table)));
    }
    JsonWriter json;
    json.beginObject().key("format").value(1).key("at");
    writeMoment(json, open->at, open->reader->zone());
    writeStockVials(json, "expiring_soon", stock->expiringSoon);
    writeStockVials(json, "expired_open", stock->expiredOpen);
    writeStockVials(json, "undated", stock->undated);
    json.key("lots").beginArray();
    for (const auto& lot : stock->lots)
        json.beginObject()
            .key("lot")
            .value(lot.lot)
            .key("kind")
            .value(lot.strip ? "strip" : "control")
            .key("state")
            .value(word(lot.state))
            .key("expiry")
            .value(lot.expiry() ? std::optional(lot.expiry()->typed) : std::nullopt)
            .key("unopened")
            .value(lot.unopened)
            .endObject();
    json.endArray()
        .key("lots_expiring_soon")
        .array(stock->lotsExpiringSoon)
        .key("lots_running_low")
        .array(stock->lotsRunningLow)
        .endObject();
    return printText(json.text() + "\n");
}

} // namespace

void addStockCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto ward = std::make_shared<std::string>();
    auto* stock = app.add_subcommand("stock", "What is open, what expires soon, what runs low")->fallthrough();
    stock->add_option("--ward", *ward, "Open vials of this ward only");
    addExample(*stock, "--registry ward5.mkr stock --ward W5");
    stock->callback([&globals, &chosen, ward] { chosen = [&globals, ward] { return runStock(globals, *ward); }; });
}

} // namespace mk::cli
