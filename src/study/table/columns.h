// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "study/table/input.h"

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace mk::study {

/// A column of labels, such as days or groups, as numbers. names: in the order of their first row; numbers: of each row, below names.size()
struct StudyLabels {
    std::vector<std::string> names;
    std::vector<std::size_t> numbers;
};

/// errors  BadInput, naming file and line: no such column, an empty cell
base::Result<StudyLabels> studyLabels(const StudyFile& file, std::string_view columnName);

/// A column of numbers as distances from its first, subtracted as the decimals they are typed as: 1000000000000.4 less
/// 1000000000000.3 is 0.1, which as doubles it is not. Spread is then computed without the digits that doubles lose.
/// values: the nearest doubles themselves
struct StudyOffsets {
    double origin = 0;
    std::vector<double> offsets;
    std::vector<double> values;
};

/// returns  plain differences where a cell has more digits than a decimal holds
/// errors   as for StudyFile::numbers
base::Result<StudyOffsets> studyOffsets(const StudyFile& file, std::string_view columnName);

} // namespace mk::study
