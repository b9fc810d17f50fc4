// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month_events.h"
#include "store/read/reader.h"

#include <vector>

namespace mk::store {

/// A month's figures with what they were made of.
struct MonthReading {
    registry::MonthFigures figures;
    registry::Policy policy;                       ///< in force at the end of the month, or at the cut-off
    std::vector<registry::MonthMeterInput> meters; ///< of all wards, by id
};

/// Gathers a month's part of the record as the reader knows it, and counts it.
/// ward     what is shown; groups are made of all wards
/// cutOff   nothing that happened, or was decided, later is read
/// counted  by which definition its occasions are counted; none: see countedBy
/// errors   NotFound for a ward that is not on record; BadInput for a month that had not begun by then
base::Result<MonthReading> readMonth(Reader& reader, const std::optional<base::WardId>& ward, registry::Month month, base::Moment cutOff,
    std::optional<registry::CountedBy> counted = {});

/// A month that was signed is counted as it was when it was first signed; any other by occasions.
base::Result<registry::CountedBy> countedBy(Reader& reader, const std::optional<base::WardId>& ward, registry::Month month);

using registry::ToldStop;
base::Result<std::vector<ToldStop>> toldStops(Reader& reader, std::span<const registry::StopRecord> stops);
/// Those that stood at some time of the month, of the meters that its figures show; oldest first.
base::Result<std::vector<ToldStop>> stopsOf(Reader& reader, const MonthReading& reading);

/// The digest of the newest entry that the reader knows, and its place.
struct ChainPlace {
    base::Seq seq;
    std::string digest;
};
base::Result<ChainPlace> chainPlaceOf(Reader& reader);

} // namespace mk::store
