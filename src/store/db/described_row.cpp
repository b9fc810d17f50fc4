// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/described_row.h"

#include "store/db/rows.h"

namespace mk::store {

namespace {

/// Each column through `form`, with commas between.
template <typename F>
std::string commaList(const std::vector<std::string>& columns, F&& form)
{
    std::string text;
    for (const auto& column : columns)
        text += (text.empty() ? "" : ", ") + form(column);
    return text;
}

} // namespace

QVariant ColumnForm<std::vector<std::string>>::write(const std::vector<std::string>& words)
{
    std::string text;
    for (const auto& each : words)
        text += (text.empty() ? "" : "\n") + each;
    return bound(text);
}

bool ColumnForm<std::vector<std::string>>::read(const QVariant& stored, std::vector<std::string>& words)
{
    words = splitLines(stored.toString().toStdString());
    return true;
}

std::string known(std::string_view alias)
{
    const std::string row = alias.empty() ? std::string() : std::string(alias) + '.';
    return row + "from_seq <= :known AND (" + row + "to_seq IS NULL OR " + row + "to_seq > :known)";
}

std::string columnList(const std::vector<std::string>& columns, std::string_view alias)
{
    const std::string row(alias);
    return commaList(
        columns, [&](const std::string& column) { return row.empty() ? column : row + '.' + column + " AS " + row + '_' + column; });
}

std::string insertInto(std::string_view table, const std::vector<std::string>& columns)
{
    return "INSERT INTO " + std::string(table) + " (" + columnList(columns) + ") VALUES ("
        + commaList(columns, [](const std::string& column) { return ':' + column; }) + ')';
}

std::string assigned(const std::vector<std::string>& columns)
{
    return commaList(columns, [](const std::string& column) { return column + " = :" + column; });
}

} // namespace mk::store
