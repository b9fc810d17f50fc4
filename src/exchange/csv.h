// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace mk::exchange {

/// One row of a CSV file below its header; it lives as long as its table.
/// line   1-based number of the file's line on which the row starts (lines end at a line feed)
/// cells  as many as the header has; an empty cell is an empty text
struct CsvRow {
    std::size_t line = 0;
    std::span<const std::string_view> cells;

    /// The cell as a text of its own.
    std::string text(std::size_t column) const { return std::string(cells[column]); }
};

/// A CSV file as text: nothing is interpreted beyond the cells. All cells stand in one block of memory, because a study may have
/// ten million rows; so a table is moved, never copied.
struct CsvTable {
    std::vector<std::string> header;
    std::vector<CsvRow> rows;

    /// Where the column of this exact name stands, or nothing when the file has none.
    std::optional<std::size_t> column(std::string_view name) const;

    CsvTable() = default;
    CsvTable(CsvTable&&) = default;
    CsvTable& operator=(CsvTable&&) = default;
    CsvTable(const CsvTable&) = delete;
    CsvTable& operator=(const CsvTable&) = delete;
    ~CsvTable() = default;

    std::vector<char> letters;           ///< what the cells view, one after the other
    std::vector<std::string_view> cells; ///< what the rows view
};

/// Why a CSV file cannot be read.
/// line   1-based; 0 where no line is at fault
/// why    reads on behind the file's name and the line
struct CsvRefusal {
    std::size_t line = 0;
    base::Fault why;
};

/// Reads a whole CSV file: RFC 4180, comma separated, header first, CRLF or LF.
/// bytes     UTF-8, a byte-order mark is accepted; the last line may lack its line end
/// cells     blanks around a cell without quotes are dropped, those inside quotes stay; blank lines are skipped
/// refused   not UTF-8, a NUL byte, a misplaced or unclosed quote, a lone carriage return,
///           a row with more or fewer cells than the header, a column that stands twice, no header, over 4096 columns, a row over 16 MiB
std::variant<CsvTable, CsvRefusal> readCsv(std::string_view bytes);
/// One line that names the file as it shall stand there, and the line.
base::Fault csvFault(const CsvRefusal& refusal, std::string_view fileName);
/// Both: the table, or the fault.
base::Result<CsvTable> parseCsv(std::string_view bytes, std::string_view fileName);

} // namespace mk::exchange
