// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/ward_duties.h"

#include "store/journal/journal.h"

#include <algorithm>
#include <map>

namespace mk::store {

using namespace registry;
using base::Result;

namespace {

/// The wards on which the meters of a board stand, each with the enrolment of its first one.
std::vector<std::pair<base::WardId, base::Moment>> wardsOf(const std::vector<BoardRow>& rows)
{
    std::map<std::string, base::Moment> first;
    for (const auto& row : rows) {
        const base::Moment enrolled = row.history.meter.act.enrolled;
        const auto [place, isNew] = first.emplace(row.history.ward.value, enrolled);
        if (!isNew)
            place->second = std::min(place->second, enrolled);
    }
    std::vector<std::pair<base::WardId, base::Moment>> wards;
    for (const auto& [ward, enrolled] : first)
        wards.emplace_back(base::WardId(ward), enrolled);
    return wards;
}

} // namespace

Result<WardDuties> wardDuties(Reader& reader, const std::vector<BoardRow>& rows, base::Moment at)
{
    WardDuties duties;
    const auto wards = wardsOf(rows);
    for (const auto& [ward, enrolled] : wards) {
        auto debts = vialDebts(reader, ward, at);
        if (!debts)
            return debts.error();
        for (auto& debt : *debts) // a vial of no ward stands on each
            if (std::ranges::find(duties.vials, debt.vial, &VialDebt::vial) == duties.vials.end())
                duties.vials.push_back(std::move(debt));
    }
    const auto founding = entryAt(reader.session(), { 1 });
    if (!founding)
        return founding.error();
    if (!*founding)
        return duties;
    auto months = monthsToSign(reader, wards, reader.zone().at((*founding)->at), at);
    if (!months)
        return months.error();
    duties.months = std::move(months).value();
    return duties;
}

} // namespace mk::store
