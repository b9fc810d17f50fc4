// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_month_events.h"

#include "store/db/rows.h"
#include "store/index/rows/index_rows.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Result;

namespace {

Done readAnnulledPairs(Reader& reader, MonthEventsInput& input)
{
    static const Select<AnnulledRow> all("WHERE by_seq <= :known ORDER BY seq");
    const auto rows = readRows(reader.session(), all, reader.asKnown(), reader.zone());
    if (!rows)
        return rows.error();
    for (const auto& row : *rows)
        input.annulled.push_back({ row.seq, row.by });
    return {};
}

/// What is said of each meter that is shown, at the end of the month.
Done readStanding(Reader& reader, const MonthReading& reading, MonthEventsInput& input)
{
    const base::Moment by = stretchOf(reading.figures, reader.zone()).by;
    for (const auto& meter : reading.meters) {
        const base::MeterId& id = meter.meter.act.meter;
        if (std::ranges::find(reading.figures.meters, id, &MeterMonth::meter) == reading.figures.meters.end()
            || meter.meter.act.enrolled > by)
            continue;
        const auto history = reader.history(meter.meter, by);
        if (!history)
            return history.error();
        input.standing.emplace(id, assess(*history, reader.policyAt(by), by, reader.zone()));
    }
    return {};
}

} // namespace

Result<MonthEvents> readMonthEvents(Reader& reader, const MonthReading& reading)
{
    MonthEventsInput input { reader, reading.meters, reading.figures };
    if (const Done read = readAnnulledPairs(reader, input); !read)
        return read.error();
    if (const Done read = readStanding(reader, reading, input); !read)
        return read.error();
    return monthEvents(input);
}

} // namespace mk::store
