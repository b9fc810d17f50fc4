// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/history_command.h"

#include "cli/board_output.h"
#include "cli/output.h"
#include "store/read/value_history.h"
#include "words/history.h"
#include "words/numbers.h"

#include <QCoreApplication>

namespace mk::cli {

namespace {

struct HistoryTexts {
    Q_DECLARE_TR_FUNCTIONS(History)
};

std::string historyTable(const std::vector<store::HistoryStep>& steps)
{
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column : { HistoryTexts::tr("entry"), HistoryTexts::tr("recorded"), HistoryTexts::tr("act"), HistoryTexts::tr("by"),
             HistoryTexts::tr("what") })
        table.front().push_back(column.toStdString());
    for (const auto& step : steps)
        table.push_back({ std::to_string(step.seq.value), words::full(step.recordedAt).toStdString(), step.act, step.person,
            words::historyLine(step.said, step.keptSince).toStdString() });
    return alignedTable(table);
}

} // namespace

int runHistory(store::Reader& reader, const std::string& key, bool json)
{
    const auto steps = store::valueHistory(reader, key);
    if (!steps)
        return printFault(steps.error());
    if (!json)
        return printText(historyTable(*steps));
    JsonWriter writer;
    writer.beginObject().key("format").value(1).key("versions").beginArray();
    for (const auto& step : *steps) {
        writer.beginObject().key("seq").value(step.seq.value).key("recorded_at");
        writeMoment(writer, step.recordedAt, reader.zone());
        writer.key("act").value(step.act).key("by").value(step.person);
        writer.key("text").value(words::historyLine(step.said, step.keptSince).toStdString());
        writer.key("column").value(step.column).key("old").value(step.before).key("new").value(step.after);
        writer.key("reason").value(step.reason).key("confirmed_by").value(step.confirmedBy).endObject();
    }
    writer.endArray().endObject();
    return printText(writer.text() + "\n");
}

} // namespace mk::cli
