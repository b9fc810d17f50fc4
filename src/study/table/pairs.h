// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/table/input.h"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace mk::study {

/// A range with both ends in it.
struct StudyRange {
    double lower = 0;
    double upper = 0;
};

/// When a pair may be compared.
/// windowMinutes   longest time between the two samplings, in it
/// haematocrit     what the strip claims, in the unit of the file; nothing: not asked
struct StudyPairRules {
    double windowMinutes = 15;
    std::optional<StudyRange> haematocrit;
};

/// The number of a cell that must be a glucose result, in either unit.
/// errors  BadInput, naming line and column: as for StudyFile::number, and a number below 0 or above a million
base::Result<StudyNumber> glucoseCell(const StudyFile& file, const exchange::CsvRow& row, std::size_t column);

/// input   two numbers with a minus between them, such as 20-60, the first not above the second
base::Result<StudyRange> parseStudyRange(std::string_view text);

/// A pair of a file, by its line; the sample's text where the file has that column.
struct StudyPairPlace {
    std::size_t line = 0;
    std::optional<std::string> sample;
};

/// A pair that is not compared, and why.
struct ExcludedPair {
    StudyPairPlace place;
    std::string reason;
};

/// The pairs of a file that may be compared; all columns of one length.
/// exactReference, exactTest   empty unless asked for
struct StudyPairs {
    std::vector<double> reference;
    std::vector<double> test;
    std::vector<StudyNumber> exactReference;
    std::vector<StudyNumber> exactTest;
    std::vector<StudyPairPlace> places;
    std::vector<ExcludedPair> excluded;
};

enum class PairNumbers {
    Doubles,       ///< any numbers
    GlucoseResults ///< with their decimals, of 0 to a million
};

/// file    columns reference and test; sample, haematocrit and minutes where they are. An empty cell under one of these says that it was
///         not recorded, and excludes nothing
/// errors  BadInput, naming the line: a missing column or cell, no number, or no glucose result where these are asked for, negative
/// minutes; no rows, or none that may be compared
base::Result<StudyPairs> readStudyPairs(const StudyFile& file, const StudyPairRules& rules, PairNumbers numbers);

} // namespace mk::study
