// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/registry_csv.h"

#include "exchange/csv.h"

#include <algorithm>
#include <charconv>

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
    void operator()(std::string_view name, const std::optional<T>&, acts::Field)
    {
        columns.emplace_back(std::string(name), false);
    }
};

/// Fills an act from the cells of a row; keeps the first thing that is wrong.
struct CellReader {
    const CsvTable& table;
    const CsvRow& row;
    ReadContext context;
    std::string wrong;

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        const std::string_view cell = cellOf(name);
        if (cell.empty())
            note(name, "is empty, and must be given");
        else
            take(name, cell, value);
    }
    // A correction may start or end at an empty cell.
    void operator()(std::string_view name, std::string& value, acts::Field)
    {
        value = std::string(cellOf(name));
        if (value.empty() && name != "old" && name != "new")
            note(name, "is empty, and must be given");
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field)
    {
        const std::string_view cell = cellOf(name);
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
            note(name, read.error().text);
    }
    void note(std::string_view name, const std::string& what)
    {
        if (wrong.empty())
            wrong = std::string(name) + ": " + what;
    }
};

/// Would the window have asked before saving? (handbook 10.4)
void askAboutUnit(const Reading& result, base::GlucoseUnit unit, std::vector<std::string>& questions)
{
    const auto* number = std::get_if<Decimal>(&result);
    if (number == nullptr)
        return;
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    const double value = number->toDouble();
    if (mg && value < 10)
        questions.push_back("is " + number->typed() + " mg/dL really mg/dL? It is below 10");
    else if (mg && number->decimals() > 0)
        questions.push_back("is " + number->typed() + " mg/dL right? mg/dL usually has no decimals");
    else if (!mg && value > 40)
        questions.push_back("is " + number->typed() + " mmol/L really mmol/L? It is above 40");
    else if (!mg && number->decimals() == 0)
        questions.push_back("is " + number->typed() + " mmol/L right? mmol/L usually has a decimal");
}

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
        file.rejected.push_back(
            { 1, base::badInput("the header lacks " + missing + "; add what is missing, columns may stand in any order") });
    for (const auto& name : table.header)
        if (std::ranges::find(lister.columns, name, &std::pair<std::string, bool>::first) == lister.columns.end())
            file.ignoredColumns.push_back(name);
    if (!file.rejected.empty())
        return file;
    for (const auto& row : table.rows) {
        A act;
        std::vector<std::string> questions;
        CellReader reader { table, row, { &zone, &questions }, {} };
        A::describe(reader, act);
        if (!reader.wrong.empty()) {
            file.rejected.push_back({ row.line, base::badInput(reader.wrong) });
            continue;
        }
        if constexpr (std::is_same_v<A, acts::ControlRun>)
            askAboutUnit(act.result, act.unit, questions);
        if constexpr (std::is_same_v<A, acts::ComparisonRecorded>)
            askAboutUnit(act.meterResult, act.unit, questions);
        file.rows.push_back({ row.line, Act(std::move(act)), std::move(questions) });
    }
    return file;
}

/// The line that a fault of the CSV reader names: "meters.csv line 7: …".
std::size_t lineIn(std::string_view text)
{
    std::size_t line = 1;
    const auto at = text.find(" line ");
    if (at != std::string_view::npos)
        std::from_chars(text.data() + at + 6, text.data() + text.size(), line);
    return line;
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
    const auto table = parseCsv(bytes, name);
    if (!table) {
        file.rejected.push_back({ lineIn(table.error().text), table.error() });
        return file;
    }
    forEachFileAct([&]<typename A>() {
        if (A::file == name)
            file = readRowsOf<A>(*table, zone);
    });
    return file;
}

} // namespace mk::exchange
