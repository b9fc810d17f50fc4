// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/accuracy.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "stats/compare/error_grid.h"

#include <algorithm>

namespace mk::study {

namespace {

/// A glucose result with more digits than a decimal holds counts rounded to nine decimals.
base::Decimal accuracyDecimal(const StudyNumber& number)
{
    return number.exact ? *number.exact : base::Decimal::parse(base::toText(*base::decimalOf(number.value))).value();
}

/// Whether a criterion's figures were read in a published source.
bool criterionIsConfirmed(std::string_view id)
{
    const auto& all = stats::accuracyCriteria();
    const auto found = std::ranges::find(all, id, &stats::Criterion::id);
    return found != all.end() && found->confirmed;
}

std::string criterionText(const stats::CriterionResult& result)
{
    return std::string(result.id) + (criterionIsConfirmed(result.id) ? "" : " *");
}

QString metInWords(const std::optional<bool>& met)
{
    if (!met)
        return StudyTexts::tr("no such pair");
    return *met ? StudyTexts::tr("met") : StudyTexts::tr("not met");
}

/// How many pairs lie in zones A to E of a grid.
struct ZoneCounts {
    std::string grid;
    std::array<std::size_t, 5> counts {};
};

/// A row for each grid: counts, and the percentage in A and B.
std::string zoneCountTable(const std::vector<ZoneCounts>& grids)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("grid")), "A", "B", "C", "D", "E", "A+B %" } };
    for (const ZoneCounts& grid : grids) {
        rows.push_back({ grid.grid });
        std::size_t all = 0;
        for (const std::size_t count : grid.counts) {
            rows.back().push_back(std::to_string(count));
            all += count;
        }
        const auto harmless = static_cast<double>(grid.counts[0] + grid.counts[1]);
        rows.back().push_back(all == 0 ? "-" : shortNumber(100 * harmless / static_cast<double>(all)));
    }
    return alignedTable(rows);
}

} // namespace

StudyAccuracy studyAccuracy(std::span<const StudyNumber> reference, std::span<const StudyNumber> test, base::GlucoseUnit unit)
{
    StudyAccuracy accuracy;
    std::vector<stats::DecimalPair> pairs;
    std::vector<double> references, tests;
    for (std::size_t i = 0; i < std::min(reference.size(), test.size()); ++i) {
        pairs.push_back({ accuracyDecimal(reference[i]), accuracyDecimal(test[i]) });
        references.push_back(reference[i].value);
        tests.push_back(test[i].value);
    }
    accuracy.criteria = stats::judgeCriteria(pairs, unit);
    if (const auto zones = stats::gridZones(stats::ErrorGrid::ConsensusType1, references, tests, unit))
        accuracy.consensus = stats::countZones(*zones);
    if (const auto zones = stats::gridZones(stats::ErrorGrid::ClarkeText, references, tests, unit))
        accuracy.clarke = stats::countZones(*zones);
    return accuracy;
}

void writeZoneCounts(JsonWriter& json, const std::array<std::size_t, 5>& counts)
{
    json.beginObject();
    for (std::size_t zone = 0; zone < counts.size(); ++zone)
        json.key(std::string(1, stats::zoneLetter(static_cast<stats::GridZone>(zone)))).value(counts[zone]);
    json.endObject();
}

void writeStudyAccuracy(JsonWriter& json, const StudyAccuracy& accuracy)
{
    json.key("criteria").beginArray();
    for (const stats::CriterionResult& result : accuracy.criteria) {
        json.beginObject().key("id").value(result.id).key("tier").value(result.tier);
        json.key("within").value(result.within).key("of").value(result.of).key("percent").value(result.percent);
        json.key("needed").value(result.needed).key("met").value(result.met);
        json.key("confirmed").value(criterionIsConfirmed(result.id)).endObject();
    }
    json.endArray();
    writeZoneCounts(json.key("consensus_grid"), accuracy.consensus);
    writeZoneCounts(json.key("clarke_grid"), accuracy.clarke);
}

std::string studyAccuracyTable(const StudyAccuracy& accuracy)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("criterion")), said(StudyTexts::tr("tier")),
        said(StudyTexts::tr("within")), said(StudyTexts::tr("of")), "%", said(StudyTexts::tr("needed")), "" } };
    bool unconfirmed = false;
    for (const stats::CriterionResult& result : accuracy.criteria) {
        unconfirmed = unconfirmed || !criterionIsConfirmed(result.id);
        rows.push_back({ criterionText(result), std::string(result.tier), std::to_string(result.within), std::to_string(result.of),
            result.percent ? shortNumber(*result.percent) : "-", std::to_string(result.needed), said(metInWords(result.met)) });
    }
    std::string text = said(StudyTexts::tr("Accuracy criteria (a difference on the limit is within; limits by the reference value):"))
        + '\n' + alignedTable(rows);
    if (unconfirmed)
        text += said(StudyTexts::tr(
                    "* The figures of this criterion were not confirmed in a published source; check them before you rely on it."))
            + '\n';
    text += said(StudyTexts::tr("Error grids (a point on a border counts in the zone with less risk; Clarke 1987 by its text):")) + '\n';
    text += zoneCountTable(
        { { said(StudyTexts::tr("consensus type 1")), accuracy.consensus }, { said(StudyTexts::tr("Clarke")), accuracy.clarke } });
    return text;
}

} // namespace mk::study
