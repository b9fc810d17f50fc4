// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"
#include "base/result.h"
#include "exchange/csv.h"

#include <cstddef>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace mk::study {

/// A number out of a study file: the nearest double, and the decimal itself where it has few enough digits.
struct StudyNumber {
    double value = 0;
    std::optional<base::Decimal> exact;
};

/// A study file in memory, under the name by which the user gave it.
struct StudyFile {
    std::string name;
    exchange::CsvTable table;

    /// errors  BadInput, naming file and column, when there is no such column
    base::Result<std::size_t> column(std::string_view columnName) const;
    bool has(std::string_view columnName) const { return table.column(columnName).has_value(); }
    /// The columns of the file that are not among `used`, in its order.
    std::vector<std::string> ignored(std::initializer_list<std::string_view> used) const;
    /// A fault that begins with this file's name and the row's line.
    base::Fault fault(const exchange::CsvRow& row, const base::Fault& what) const;
    /// The same fault with this file's name before it.
    base::Fault fault(const base::Fault& about) const;
    /// errors  BadInput: no rows. one: what a row is, such as "value"
    base::Done hasRows(std::string_view one) const;
    /// errors  BadInput, naming line and column, for a cell that is empty or not a finite number
    base::Result<StudyNumber> number(const exchange::CsvRow& row, std::size_t column) const;
    /// The nearest double alone; errors as for `number`
    base::Result<double> real(const exchange::CsvRow& row, std::size_t column) const;
    /// Every number of a column, oldest first; errors as for `number`.
    base::Result<std::vector<double>> numbers(std::string_view columnName) const;
};

/// errors  Io when the file cannot be read, BadInput when it is no CSV file or over a GiB
base::Result<StudyFile> readStudyFile(const std::string& path);

} // namespace mk::study
