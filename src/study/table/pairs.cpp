// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/pairs.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "study/terminal/typed_numbers.h"
#include "stats/compare/error_grid.h"

namespace mk::study {

namespace {

/// Where the columns of pairs stand in a file.
struct PairColumns {
    std::size_t reference = 0;
    std::size_t test = 0;
    std::optional<std::size_t> sample;
    std::optional<std::size_t> haematocrit;
    std::optional<std::size_t> minutes;
};

base::Result<PairColumns> findPairColumns(const StudyFile& file)
{
    const auto reference = file.column("reference");
    if (!reference)
        return reference.error();
    const auto test = file.column("test");
    if (!test)
        return test.error();
    return PairColumns { *reference, *test, file.table.column("sample"), file.table.column("haematocrit"), file.table.column("minutes") };
}

/// The number of a cell that may be absent: no such column, or empty.
base::Result<std::optional<double>> optionalCell(
    const StudyFile& file, const exchange::CsvRow& row, const std::optional<std::size_t>& column)
{
    if (!column || row.cells[*column].empty())
        return std::optional<double>();
    const auto value = file.real(row, *column);
    if (!value)
        return value.error();
    return std::optional(*value);
}

/// Why the pair of a row is not compared; nothing when it is.
base::Result<std::vector<std::string>> exclusionReasons(
    const StudyFile& file, const exchange::CsvRow& row, const PairColumns& columns, const StudyPairRules& rules)
{
    std::vector<std::string> reasons;
    const auto minutes = optionalCell(file, row, columns.minutes);
    if (!minutes)
        return minutes.error();
    if (*minutes && **minutes < 0)
        return file.fault(row,
            base::fault(
                base::FaultKind::BadInput, "the minutes between the samplings are below 0; write them as 0 or more, whichever came first"));
    if (*minutes && **minutes > rules.windowMinutes)
        reasons.push_back(said(
            StudyTexts::tr("%1 minutes between the samplings, more than %2"), shortNumber(**minutes), shortNumber(rules.windowMinutes)));
    const auto haematocrit = optionalCell(file, row, columns.haematocrit);
    if (!haematocrit)
        return haematocrit.error();
    if (*haematocrit && rules.haematocrit && (**haematocrit < rules.haematocrit->lower || **haematocrit > rules.haematocrit->upper)) {
        reasons.push_back(said(StudyTexts::tr("haematocrit %1 is outside %2 to %3"), shortNumber(**haematocrit),
            shortNumber(rules.haematocrit->lower), shortNumber(rules.haematocrit->upper)));
    }
    return reasons;
}

base::Done takePair(StudyPairs& pairs, const StudyFile& file, const exchange::CsvRow& row, const PairColumns& columns, PairNumbers numbers)
{
    if (numbers == PairNumbers::GlucoseResults) {
        const auto reference = glucoseCell(file, row, columns.reference);
        const auto test = glucoseCell(file, row, columns.test);
        if (!reference || !test)
            return reference ? test.error() : reference.error();
        pairs.exactReference.push_back(*reference);
        pairs.exactTest.push_back(*test);
        pairs.reference.push_back(reference->value);
        pairs.test.push_back(test->value);
        return {};
    }
    const auto reference = file.real(row, columns.reference);
    const auto test = file.real(row, columns.test);
    if (!reference || !test)
        return reference ? test.error() : reference.error();
    pairs.reference.push_back(*reference);
    pairs.test.push_back(*test);
    return {};
}

StudyPairPlace placeOf(const exchange::CsvRow& row, const PairColumns& columns)
{
    return { row.line, columns.sample ? std::optional(row.text(*columns.sample)) : std::nullopt };
}

} // namespace

base::Result<StudyNumber> glucoseCell(const StudyFile& file, const exchange::CsvRow& row, std::size_t column)
{
    const auto number = file.number(row, column);
    if (number && !stats::isGridValue(number->value))
        return file.fault(row,
            base::badInput("'%1' under '%2' is no glucose result; give a number from 0 to a million or leave the row out",
                row.cells[column], file.table.header[column]));
    return number;
}

base::Result<StudyRange> parseStudyRange(std::string_view text)
{
    const auto minus = text.find('-', 1);
    if (minus != std::string_view::npos) {
        const auto lower = studyReal(text.substr(0, minus));
        const auto upper = studyReal(text.substr(minus + 1));
        if (lower && upper && *lower <= *upper)
            return StudyRange { *lower, *upper };
    }
    return base::badInput("'%1' is not a range; write the lower end, a minus and the upper end, such as 20-60", text);
}

base::Result<StudyPairs> readStudyPairs(const StudyFile& file, const StudyPairRules& rules, PairNumbers numbers)
{
    const auto columns = findPairColumns(file);
    if (!columns)
        return columns.error();
    if (const auto rows = file.hasRows("pair"); !rows)
        return rows.error();
    StudyPairs pairs;
    for (const exchange::CsvRow& row : file.table.rows) {
        auto reasons = exclusionReasons(file, row, *columns, rules);
        if (!reasons)
            return reasons.error();
        if (!reasons->empty()) {
            pairs.excluded.push_back({ placeOf(row, *columns), joined(*reasons, "; ") });
            continue;
        }
        if (const auto taken = takePair(pairs, file, row, *columns, numbers); !taken)
            return taken.error();
        pairs.places.push_back(placeOf(row, *columns));
    }
    if (pairs.reference.empty()) {
        const ExcludedPair& first = pairs.excluded.front();
        return base::badInput("%1 has no pair that may be compared: %2 on line %3; compare other pairs or widen the limits", file.name,
            first.reason, first.place.line);
    }
    return pairs;
}

} // namespace mk::study
