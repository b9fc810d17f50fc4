// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/glucose_concentration.h"
#include "study/terminal/printing.h"
#include "study/table/input.h"
#include "stats/compare/accuracy_criteria.h"

#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace mk::study {

/// What can be said of pairs once their unit is known.
/// consensus, clarke   how many pairs lie in zones A to E
struct StudyAccuracy {
    std::vector<stats::CriterionResult> criteria;
    std::array<std::size_t, 5> consensus {};
    std::array<std::size_t, 5> clarke {};
};

/// Every criterion of the unit and both grids (consensus type 1; Clarke by its text; borders to less risk), over all pairs.
/// Both columns of one length, with numbers as glucoseCell takes them. Numbers with more digits than a decimal holds count rounded to nine
/// decimals.
StudyAccuracy studyAccuracy(std::span<const StudyNumber> reference, std::span<const StudyNumber> test, base::GlucoseUnit unit);
/// The keys criteria, consensus_grid and clarke_grid, into the open object.
void writeStudyAccuracy(JsonWriter& json, const StudyAccuracy& accuracy);
/// The same as lines for people: a heading line before each table.
std::string studyAccuracyTable(const StudyAccuracy& accuracy);

/// An object with a number for each of A to E.
void writeZoneCounts(JsonWriter& json, const std::array<std::size_t, 5>& counts);

} // namespace mk::study
