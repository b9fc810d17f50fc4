// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/csv.h"

#include <csv.h>

#include <algorithm>
#include <memory>

namespace mk::exchange {

namespace {

constexpr std::string_view kCsvByteOrderMark = "\xEF\xBB\xBF";

// What no table of records comes near: beyond it a file is another thing, or made to fill the memory.
constexpr std::size_t kMostCsvColumns = 4096;
constexpr std::size_t kMostCsvRowBytes = 16U << 20U;
constexpr std::size_t kCsvCellGrowth = 64U << 10U; ///< libcsv grows by 128 bytes, so that a long cell would be copied over and over

/// Nothing is refused.
using CsvRefused = std::optional<CsvRefusal>;

template <typename... Args>
CsvRefusal refusedLine(std::size_t line, std::type_identity_t<base::Sentence<sizeof...(Args)>> sentence, const Args&... args)
{
    return { line, base::badInput(sentence, args...) };
}

/// How many bytes the well-formed UTF-8 character at the start of `bytes` takes; 0 for NUL and for anything malformed.
std::size_t csvCharacterLength(std::string_view bytes)
{
    const auto byte = [&](std::size_t i) { return i < bytes.size() ? static_cast<unsigned char>(bytes[i]) : 0U; };
    const auto trails = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned first = byte(0);
    if (first < 0x80)
        return first == 0 ? 0 : 1;
    if (first >= 0xC2 && first <= 0xDF)
        return trails(1) ? 2 : 0;
    if (first >= 0xE0 && first <= 0xEF) {
        const bool overlong = first == 0xE0 && byte(1) < 0xA0;
        const bool surrogate = first == 0xED && byte(1) > 0x9F;
        return trails(1) && trails(2) && !overlong && !surrogate ? 3 : 0;
    }
    if (first >= 0xF0 && first <= 0xF4) {
        const bool overlong = first == 0xF0 && byte(1) < 0x90;
        const bool tooHigh = first == 0xF4 && byte(1) > 0x8F;
        return trails(1) && trails(2) && trails(3) && !overlong && !tooHigh ? 4 : 0;
    }
    return 0;
}

CsvRefused checkCsvEncoding(std::string_view bytes)
{
    // Most files are plain ASCII, which one pass without branches tells.
    unsigned char odd = 0;
    for (const char byte : bytes)
        odd |= static_cast<unsigned char>(static_cast<unsigned char>(byte) & 0x80U) | static_cast<unsigned char>(byte == '\0');
    if (odd == 0)
        return {};
    std::size_t line = 1;
    for (std::size_t at = 0; at < bytes.size();) {
        const std::size_t length = csvCharacterLength(bytes.substr(at));
        if (length == 0 && bytes[at] == '\0')
            return refusedLine(line, "holds a NUL byte; save the file as UTF-8 text");
        if (length == 0)
            return refusedLine(line, "is not valid UTF-8; save the file as UTF-8 text");
        if (bytes[at] == '\n')
            ++line;
        at += length;
    }
    return {};
}

/// Where a row stands among the cells of its file.
struct CsvRowPlace {
    std::size_t line = 0;
    std::size_t firstCell = 0;
    std::size_t cells = 0;
};

/// What libcsv's callbacks fill while one line after the other is fed to it.
struct CsvGathering {
    std::size_t rowLine = 0;
    bool rowOpen = false;
    std::size_t rowsEndedInLine = 0;
    std::size_t firstCell = 0;
    std::size_t mostRows = 0;
    std::vector<char> letters; // never grows beyond what was reserved, so views into it hold
    std::vector<std::string_view> cells;
    std::vector<CsvRowPlace> rows;
};

void takeCsvCell(void* text, std::size_t length, void* gathering)
{
    auto& to = *static_cast<CsvGathering*>(gathering);
    const std::size_t at = to.letters.size();
    if (text != nullptr)
        to.letters.insert(to.letters.end(), static_cast<const char*>(text), static_cast<const char*>(text) + length);
    to.cells.emplace_back(to.letters.data() + at, text == nullptr ? 0 : length);
}

void takeCsvRow(int, void* gathering)
{
    auto& to = *static_cast<CsvGathering*>(gathering);
    if (to.rows.empty()) { // room for all, or a long file is copied again and again while it grows
        to.rows.reserve(to.mostRows);
        to.cells.reserve(std::min(to.mostRows * to.cells.size(), to.letters.capacity()));
    }
    to.rows.push_back({ to.rowLine, to.firstCell, to.cells.size() - to.firstCell });
    to.firstCell = to.cells.size();
    to.rowOpen = false;
    ++to.rowsEndedInLine;
}

bool isBlankCsvLine(std::string_view line)
{
    return line.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

CsvRefused checkCsvWidth(const CsvRowPlace& row, std::size_t wanted)
{
    if (row.cells == wanted)
        return {};
    if (row.cells == 1 && row.cells < wanted)
        return refusedLine(row.line, "has 1 cell where the header has %1; add the missing commas", wanted);
    if (row.cells < wanted)
        return refusedLine(row.line, "has %1 cells where the header has %2; add the missing commas", row.cells, wanted);
    return refusedLine(row.line,
        "has %1 cells where the header has %2; remove the extra commas, or put a cell that holds a comma in quotes", row.cells, wanted);
}

/// Is the newest row no wider than a table may be? A file of commas alone would take sixteen times its size.
CsvRefused checkCsvRoom(const CsvGathering& gathering)
{
    const CsvRowPlace& newest = gathering.rows.back();
    if (newest.cells > kMostCsvColumns)
        return refusedLine(newest.line, "has %1 cells, and a table may have %2; is it a table of records?", newest.cells, kMostCsvColumns);
    return newest.cells > gathering.rows.front().cells ? checkCsvWidth(newest, gathering.rows.front().cells) : CsvRefused();
}

/// Every row of the file, the header among them, whatever their widths.
std::variant<CsvGathering, CsvRefusal> gatherCsvRows(std::string_view bytes)
{
    csv_parser parser;
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
        return CsvRefusal { 0, base::fault(base::FaultKind::Io, "cannot be read, since the CSV reader did not start") };
    const std::unique_ptr<csv_parser, decltype(&csv_free)> cleanUp(&parser, &csv_free);
    csv_set_blk_size(&parser, kCsvCellGrowth);

    CsvGathering gathering;
    gathering.letters.reserve(bytes.size() + 1);
    gathering.mostRows = static_cast<std::size_t>(std::ranges::count(bytes, '\n')) + 1;
    std::size_t lineNumber = 0;
    std::size_t rowBytes = 0;
    while (!bytes.empty()) {
        // One physical line at a time, because libcsv does not say on which line it is.
        const std::string_view line = bytes.substr(0, std::min(bytes.find('\n'), bytes.size() - 1) + 1);
        bytes.remove_prefix(line.size());
        ++lineNumber;
        if (!gathering.rowOpen && !isBlankCsvLine(line)) {
            gathering.rowOpen = true;
            gathering.rowLine = lineNumber;
        }
        rowBytes = gathering.rowsEndedInLine == 0 ? rowBytes + line.size() : line.size();
        if (rowBytes > kMostCsvRowBytes)
            return refusedLine(gathering.rowOpen ? gathering.rowLine : lineNumber,
                "begins a row of more than %1 MiB; a quote may be missing, or the file is no table", kMostCsvRowBytes >> 20U);
        gathering.rowsEndedInLine = 0;
        if (csv_parse(&parser, line.data(), line.size(), takeCsvCell, takeCsvRow, &gathering) != line.size())
            return refusedLine(lineNumber, "has a misplaced quote; put the whole cell in quotes and write each quote inside it twice");
        if (gathering.rowsEndedInLine > 1)
            return refusedLine(lineNumber, "has a lone carriage return; end lines with a line feed");
        if (!gathering.rows.empty())
            if (auto wide = checkCsvRoom(gathering))
                return *std::move(wide);
    }
    if (csv_fini(&parser, takeCsvCell, takeCsvRow, &gathering) != 0)
        return refusedLine(gathering.rowLine, "opens a quote that is never closed; the file may be truncated");
    if (gathering.rowsEndedInLine > 1)
        return refusedLine(lineNumber, "has a lone carriage return; end lines with a line feed");
    return gathering;
}

CsvRefused checkCsvHeader(const std::vector<std::string>& header, std::size_t line)
{
    for (auto name = header.begin(); name != header.end(); ++name) {
        if (std::find(header.begin(), name, *name) != name)
            return refusedLine(line, "names the column '%1' twice; keep one of them", *name);
    }
    return {};
}

} // namespace

std::optional<std::size_t> CsvTable::column(std::string_view name) const
{
    const auto found = std::ranges::find(header, name);
    if (found == header.end())
        return std::nullopt;
    return static_cast<std::size_t>(found - header.begin());
}

std::variant<CsvTable, CsvRefusal> readCsv(std::string_view bytes)
{
    if (bytes.starts_with(kCsvByteOrderMark))
        bytes.remove_prefix(kCsvByteOrderMark.size());
    if (auto encoding = checkCsvEncoding(bytes))
        return *std::move(encoding);
    auto all = gatherCsvRows(bytes);
    if (auto* refused = std::get_if<CsvRefusal>(&all))
        return std::move(*refused);
    auto& gathered = std::get<CsvGathering>(all);
    const std::vector<CsvRowPlace>& places = gathered.rows;
    if (places.empty())
        return CsvRefusal { 0, base::badInput("has no header; its first line must name the columns") };

    CsvTable table;
    table.letters = std::move(gathered.letters);
    table.cells = std::move(gathered.cells);
    table.header.assign(table.cells.begin(), table.cells.begin() + static_cast<std::ptrdiff_t>(places.front().cells));
    if (auto twice = checkCsvHeader(table.header, places.front().line))
        return *std::move(twice);
    table.rows.reserve(places.size() - 1);
    for (std::size_t i = 1; i < places.size(); ++i) {
        if (auto width = checkCsvWidth(places[i], table.header.size()))
            return *std::move(width);
        table.rows.push_back({ places[i].line, std::span(table.cells).subspan(places[i].firstCell, places[i].cells) });
    }
    return table;
}

base::Fault csvFault(const CsvRefusal& refusal, std::string_view fileName)
{
    return refusal.line == 0 ? base::fault(refusal.why.kind, "%1 %2", fileName, refusal.why)
                             : base::fault(refusal.why.kind, "%1 line %2: %3", fileName, refusal.line, refusal.why);
}

base::Result<CsvTable> parseCsv(std::string_view bytes, std::string_view fileName)
{
    auto read = readCsv(bytes);
    if (const auto* refused = std::get_if<CsvRefusal>(&read))
        return csvFault(*refused, fileName);
    return std::get<CsvTable>(std::move(read));
}

} // namespace mk::exchange
