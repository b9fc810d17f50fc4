// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/input.h"

#include "study/terminal/typed_numbers.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <fstream>

namespace mk::study {

namespace {

constexpr std::size_t kMostStudyBytes = 1U << 30U; // a hundred million numbers

/// The decimal that the text means. 6.2000000000000002 is what some programs print for 6.2: a number with more digits than a
/// decimal holds is taken as the shortest decimal that gives the same double, if that fits.
std::optional<base::Decimal> studyDecimal(std::string_view text, double value)
{
    if (auto typed = base::Decimal::parse(text))
        return std::move(typed).value();
    std::array<char, 400> buffer {};
    const auto written = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed);
    auto shortest = base::Decimal::parse({ buffer.data(), static_cast<std::size_t>(written.ptr - buffer.data()) });
    if (written.ec != std::errc() || !shortest)
        return std::nullopt;
    return std::move(shortest).value();
}

} // namespace

base::Result<std::size_t> StudyFile::column(std::string_view columnName) const
{
    const auto found = table.column(columnName);
    if (!found)
        return base::badInput("%1 line 1: has no column '%2'; name it in the header", name, columnName);
    return *found;
}

std::vector<std::string> StudyFile::ignored(std::initializer_list<std::string_view> used) const
{
    std::vector<std::string> others;
    for (const std::string& one : table.header) {
        if (std::ranges::find(used, one) == used.end())
            others.push_back(one);
    }
    return others;
}

base::Fault StudyFile::fault(const exchange::CsvRow& row, const base::Fault& what) const
{
    return base::fault(what.kind, "%1 line %2: %3", name, row.line, what);
}

base::Fault StudyFile::fault(const base::Fault& about) const
{
    return base::fault(about.kind, "%1: %2", name, about);
}

base::Done StudyFile::hasRows(std::string_view one) const
{
    if (table.rows.empty())
        return base::badInput("%1 has no rows below its header; give at least one %2", name, base::asTerm(one));
    return {};
}

base::Result<double> StudyFile::real(const exchange::CsvRow& row, std::size_t column) const
{
    const std::string_view cell = row.cells[column];
    if (cell.empty())
        return fault(row, base::badInput("the cell under '%1' is empty; give a number or leave the row out", table.header[column]));
    const auto value = studyReal(cell);
    if (!value)
        return fault(row,
            base::badInput(
                "'%1' under '%2' is not a number; write digits with at most one point, such as 5.6", cell, table.header[column]));
    return *value;
}

base::Result<StudyNumber> StudyFile::number(const exchange::CsvRow& row, std::size_t column) const
{
    const auto value = real(row, column);
    if (!value)
        return value.error();
    return StudyNumber { *value, studyDecimal(row.cells[column], *value) };
}

base::Result<std::vector<double>> StudyFile::numbers(std::string_view columnName) const
{
    const auto at = column(columnName);
    if (!at)
        return at.error();
    std::vector<double> values;
    values.reserve(table.rows.size());
    for (const exchange::CsvRow& row : table.rows) {
        const auto value = real(row, *at);
        if (!value)
            return value.error();
        values.push_back(*value);
    }
    return values;
}

base::Result<StudyFile> readStudyFile(const std::string& path)
{
    // read() turns what the stream buffer throws, as on a directory, into a state.
    std::ifstream file(path, std::ios::binary);
    std::string bytes;
    std::error_code unknown;
    const auto size = std::filesystem::file_size(path, unknown);
    if (!unknown)
        bytes.reserve(std::min(size, static_cast<std::uintmax_t>(kMostStudyBytes)));
    std::vector<char> block(1U << 16U);
    do {
        if (bytes.size() > kMostStudyBytes)
            return base::badInput("%1 is larger than %2 MiB; check that it is the right file, or split it", path, kMostStudyBytes >> 20U);
        file.read(block.data(), static_cast<std::streamsize>(block.size()));
        bytes.append(block.data(), static_cast<std::size_t>(file.gcount()));
    } while (file.good());
    if (!file.is_open() || file.bad())
        return base::fault(base::FaultKind::Io, "%1 cannot be read; check its name, and that you may read it", path);
    auto table = exchange::parseCsv(bytes, path);
    if (!table)
        return table.error();
    return StudyFile { path, std::move(table).value() };
}

} // namespace mk::study
