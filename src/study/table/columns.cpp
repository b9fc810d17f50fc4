// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/columns.h"

#include "base/wide_decimal.h"

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace mk::study {

namespace {

double exactDistance(const base::Decimal& number, const base::Decimal& from)
{
    const int decimals = std::max(number.decimals(), from.decimals());
    const base::WideInt distance = mantissaWith(base::widened(number), decimals) - mantissaWith(base::widened(from), decimals);
    return static_cast<double>(static_cast<long double>(distance) / std::pow(10.0L, static_cast<long double>(decimals)));
}

} // namespace

base::Result<StudyLabels> studyLabels(const StudyFile& file, std::string_view columnName)
{
    const auto column = file.column(columnName);
    if (!column)
        return column.error();
    StudyLabels labels;
    std::unordered_map<std::string_view, std::size_t> known;
    for (const exchange::CsvRow& row : file.table.rows) {
        const std::string_view cell = row.cells[*column];
        if (cell.empty())
            return file.fault(row, base::badInput("the cell under '%1' is empty; give a label or leave the row out", columnName));
        const auto [at, isNew] = known.try_emplace(cell, labels.names.size());
        if (isNew)
            labels.names.emplace_back(cell);
        labels.numbers.push_back(at->second);
    }
    return labels;
}

base::Result<StudyOffsets> studyOffsets(const StudyFile& file, std::string_view columnName)
{
    const auto column = file.column(columnName);
    if (!column)
        return column.error();
    StudyOffsets offsets;
    std::optional<base::Decimal> first;
    bool exact = true;
    for (const exchange::CsvRow& row : file.table.rows) {
        const auto number = file.number(row, *column);
        if (!number)
            return number.error();
        if (offsets.values.empty()) {
            first = number->exact;
            offsets.origin = number->value;
        }
        exact = exact && first && number->exact;
        offsets.values.push_back(number->value);
        offsets.offsets.push_back(exact ? exactDistance(*number->exact, *first) : 0);
    }
    if (!exact)
        std::ranges::transform(offsets.values, offsets.offsets.begin(), [&](double value) { return value - offsets.origin; });
    return offsets;
}

} // namespace mk::study
