// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a study's file: its numbers are finite and stand where the fault says; the first line may be a list of numbers as options
// take it.
#include "study/table/input.h"
#include "study/terminal/typed_numbers.h"
#include "property.h"

#include <cmath>

using namespace mk;
using fuzz::mustHold;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string_view bytes = fuzz::bytesOf(data, size);
    const auto list = study::studyReals("--at", bytes.substr(0, bytes.find('\n')));
    if (list)
        for (const double number : *list)
            mustHold(std::isfinite(number), "a number is finite");
    else
        mustHold(list.error().text.starts_with("--at: "), "a fault names its option", list.error().text);

    auto table = exchange::parseCsv(bytes, "study.csv");
    if (!table)
        return 0;
    const study::StudyFile file { "study.csv", std::move(table).value() };
    for (std::size_t column = 0; column < file.table.header.size(); ++column) {
        mustHold(file.has(file.table.header[column]), "a column is found by its name");
        for (const auto& row : file.table.rows) {
            const auto number = file.number(row, column);
            if (!number) {
                mustHold(number.error().text.starts_with("study.csv line " + std::to_string(row.line) + ": "),
                    "a fault names file and line", number.error().text);
                continue;
            }
            mustHold(std::isfinite(number->value), "a number is finite", row.text(column));
            if (number->exact)
                mustHold(std::abs(number->exact->toDouble() - number->value) <= 1e-15 * std::abs(number->value),
                    "the decimal is the number", row.text(column));
        }
    }
    return 0;
}
