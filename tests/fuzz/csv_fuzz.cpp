// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a CSV file: refused by name and line, or a table that reads the same when it is written again.
#include "exchange/csv.h"
#include "property.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

namespace {

/// Every cell in quotes, so that nothing depends on which cells need them.
template <typename Cells>
void writeRow(std::string& out, const Cells& cells)
{
    bool first = true;
    for (const auto& cell : cells) {
        out += first ? "\"" : ",\"";
        first = false;
        for (const char c : cell)
            out += c == '"' ? std::string("\"\"") : std::string(1, c);
        out += '"';
    }
    out += '\n';
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string_view bytes = fuzz::bytesOf(data, size);
    const auto table = exchange::parseCsv(bytes, "file.csv");
    if (!table) {
        mustHold(table.error().text.starts_with("file.csv "), "a fault names its file", table.error().text);
        return 0;
    }
    const std::size_t lines = static_cast<std::size_t>(std::ranges::count(bytes, '\n')) + 1;
    std::size_t last = 0;
    std::string again;
    writeRow(again, table->header);
    for (const auto& row : table->rows) {
        mustHold(row.cells.size() == table->header.size(), "a row is as wide as the header");
        mustHold(row.line > last && row.line <= lines, "lines are counted upwards within the file");
        last = row.line;
        writeRow(again, row.cells);
    }
    const auto second = exchange::parseCsv(again, "again.csv");
    mustHold(bool(second), "what was read can be written and read", second ? again : second.error().text);
    mustHold(second->header == table->header && second->rows.size() == table->rows.size(), "nothing is lost or added", again);
    for (std::size_t i = 0; i < table->rows.size(); ++i)
        mustHold(std::ranges::equal(table->rows[i].cells, second->rows[i].cells), "every cell reads the same", again);
    return 0;
}
