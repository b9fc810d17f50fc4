// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/history_command.h"

#include "cli/board_output.h"
#include "cli/output.h"
#include "store/read/value_history.h"

namespace mk::cli {

int runHistory(store::Reader& reader, const std::string& key, bool json)
{
    const auto steps = store::valueHistory(reader, key);
    if (!steps)
        return printFault(steps.error());
    if (!json) {
        std::vector<std::vector<std::string>> table { { "entry", "recorded", "act", "by", "what" } };
        for (const auto& step : *steps)
            table.push_back(
                { std::to_string(step.seq.value), registry::inWords(step.recordedAt, reader.zone()), step.act, step.person, step.text });
        return printText(alignedTable(table));
    }
    JsonWriter writer;
    writer.beginObject().key("format").value(1).key("versions").beginArray();
    for (const auto& step : *steps) {
        writer.beginObject().key("seq").value(step.seq.value).key("recorded_at");
        writeMoment(writer, step.recordedAt, reader.zone());
        writer.key("act").value(step.act).key("by").value(step.person).key("text").value(step.text);
        writer.key("column").value(step.column).key("old").value(step.before).key("new").value(step.after);
        writer.key("reason").value(step.reason).key("confirmed_by").value(step.confirmedBy).endObject();
    }
    writer.endArray().endObject();
    return printText(writer.text() + "\n");
}

} // namespace mk::cli
