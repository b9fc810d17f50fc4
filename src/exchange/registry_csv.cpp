// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/registry_csv.h"

#include "exchange/csv.h"

#include <algorithm>

namespace mk::exchange {

namespace {

using namespace registry;
using base::Decimal;

template <typename F>
void forEachFileAct(F&& f)
{
    [&]<typename... A>(std::tuple<A...>*) { (f.template operator()<A>(), ...); }(static_cast<FileActs*>(nullptr));
}

/// The columns that an act's file has, with whether each must be there.
struct ColumnLister {
    std::vector<std::pair<std::string, bool>> columns;

    template <typename T>
    void operator()(std::string_view name, const T&, acts::Field)
    {
        columns.emplace_back(std::string(name), true);
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>&, acts::Field field)
    {
        if (field != acts::Field::Program)
            columns.emplace_back(std::string(name), false);
    }
};

/// Fills an act from the cells of a row; keeps the first thing that is wrong.
struct CellReader {
    const CsvTable& table;
    const CsvRow& row;
    ReadContext context;
    std::optional<base::Fault> wrong {};

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        const std::string_view cell = cellOf(name);
        if (cell.empty())
            note(base::badInput("%1: is empty, and must be given", name));
        else
            take(name, cell, value);
    }
    // A correction may start or end at an empty cell.
    void operator()(std::string_view name, std::string& value, acts::Field)
    {
        value = std::string(cellOf(name));
        if (value.empty() && name != "old" && name != "new")
            note(base::badInput("%1: is empty, and must be given", name));
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field field)
    {
        const std::string_view cell = field == acts::Field::Program ? std::string_view() : cellOf(name);
        if (!cell.empty())
            take(name, cell, value.emplace());
    }

private:
    /// Empty where the file has no such column: not given either way.
    std::string_view cellOf(std::string_view name) const
    {
        const auto column = table.column(name);
        return column ? row.cells[*column] : std::string_view();
    }
    template <typename T>
    void take(std::string_view name, std::string_view cell, T& value)
    {
        auto read = TextForm<T>::read(cell, context);
        if (read)
            value = std::move(read).value();
        else
            note(base::badInput("%1: %2", name, read.error()));
    }
    void note(base::Fault fault)
    {
        if (!wrong)
            wrong = std::move(fault);
    }
};

template <typename A>
FileRows readRowsOf(const CsvTable& table, const Zone& zone)
{
    FileRows file;
    file.file = std::string(A::file);
    const A example;
    ColumnLister lister;
    A::describe(lister, example);
    std::string missing;
    for (const auto& [column, needed] : lister.columns)
        if (needed && !table.column(column))
            missing += (missing.empty() ? "'" : ", '") + column + "'";
    if (!missing.empty())
        file.rejected.push_back({ 1, base::badInput("the header lacks %1; add what is missing, columns may stand in any order", missing) });
    for (const auto& name : table.header)
        if (std::ranges::find(lister.columns, name, &std::pair<std::string, bool>::first) == lister.columns.end())
            file.ignoredColumns.push_back(name);
    if (!file.rejected.empty())
        return file;
    for (const auto& row : table.rows) {
        A act;
        std::vector<std::string> questions;
        CellReader reader { table, row, { &zone, &questions } };
        A::describe(reader, act);
        if (reader.wrong) {
            file.rejected.push_back({ row.line, *std::move(reader.wrong) });
            continue;
        }
        file.rows.push_back({ row.line, Act(std::move(act)), std::move(questions) });
    }
    return file;
}

} // namespace

bool isRegistryFile(std::string_view name)
{
    bool found = false;
    forEachFileAct([&]<typename A>() { found = found || A::file == name; });
    return found;
}

FileRows readRegistryFile(std::string_view name, std::string_view bytes, const Zone& zone)
{
    FileRows file;
    file.file = std::string(name);
    auto read = readCsv(bytes);
    if (const auto* refused = std::get_if<CsvRefusal>(&read)) {
        file.rejected.push_back({ std::max<std::size_t>(refused->line, 1), csvFault(*refused, name), true });
        return file;
    }
    const auto& table = std::get<CsvTable>(read);
    forEachFileAct([&]<typename A>() {
        if (A::file == name)
            file = readRowsOf<A>(table, zone);
    });
    return file;
}

} // namespace mk::exchange
