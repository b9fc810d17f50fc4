// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/board.h"

#include "registry/meter/new_material.h"
#include "store/index/rows/control_rows.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

namespace mk::store {

using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

/// The meter at that moment under a version that comes into force later. Which vials it needs to know of is asked by that version.
Result<registry::Fitness> fitnessUnder(Reader& reader, registry::MeterHistory history, base::Moment at, base::Moment change)
{
    const registry::Policy& policy = reader.policyAt(change);
    if (const base::Done filled = registry::addOpenMaterial(reader, history, policy, at); !filled)
        return filled.error();
    return registry::assess(history, policy, change, reader.zone());
}

Result<BoardRow> rowOf(Reader& reader, const registry::MeterRecord& meter, base::Moment at)
{
    auto history = reader.history(meter, at);
    if (!history)
        return history.error();
    BoardRow row { std::move(history).value(), {} };
    row.fitness = registry::assess(row.history, reader.policyAt(at), at, reader.zone());
    // A version that is adopted and not yet in force may end a clearance sooner, or let it last longer.
    for (const base::Moment change : reader.policyChangesAfter(at)) {
        if (!row.fitness.usable || (row.fitness.until && *row.fitness.until <= change))
            break;
        const auto then = fitnessUnder(reader, row.history, at, change);
        if (!then)
            return then.error();
        row.fitness.until = then->usable ? then->until : std::optional(change);
        if (!then->usable)
            break;
    }
    return row;
}

} // namespace

Result<std::vector<BoardRow>> board(Reader& reader, const std::optional<base::WardId>& ward, base::Moment at)
{
    if (ward) {
        const auto known = reader.hasWard(*ward);
        if (!known)
            return known.error();
        if (!*known)
            return base::fault(FaultKind::NotFound, "no ward is called '%1'; see the wards of this registry on the board", ward->value);
    }
    const auto meters = reader.meters();
    if (!meters)
        return meters.error();
    std::vector<BoardRow> rows;
    for (const auto& meter : *meters) {
        if (meter.act.enrolled > at)
            continue;
        auto row = rowOf(reader, meter, at);
        if (!row)
            return row.error();
        if (!ward || row->history.ward == *ward)
            rows.push_back(std::move(row).value());
    }
    return rows;
}

Result<BoardRow> boardRow(Reader& reader, const base::MeterId& meter, base::Moment at)
{
    const auto record = reader.meter(meter);
    if (!record)
        return record.error();
    if (*record == nullptr)
        return base::fault(FaultKind::NotFound, "no meter is called '%1'; check its label or see the board", meter.value);
    return rowOf(reader, **record, at);
}

Result<std::size_t> countOfSets(Reader& reader, const base::MeterId& meter, base::Moment by)
{
    static const Sql sql(
        { SetVerdictRow::table }, "SELECT count(*) AS sets FROM set_verdict WHERE meter = :meter AND " + known() + " AND last_at <= :at");
    std::size_t count = 0;
    const base::Done read = eachRow(
        reader.session(), sql, reader.asKnown({ { "meter", bound(meter.value) }, { "at", bound(by.utcMs) } }), [&](const Statement& row) {
            count = static_cast<std::size_t>(row.number("sets"));
            return base::Done();
        });
    if (!read)
        return read.error();
    return count;
}

Result<std::optional<registry::Fitness>> asKnownThen(Session& session, const base::MeterId& meter, base::Moment at)
{
    const auto last = lastEntryBefore(session, at.utcMs);
    if (!last)
        return last.error();
    if (last->value == 0)
        return std::optional<registry::Fitness>();
    auto reader = Reader::open(session, *last);
    if (!reader)
        return reader.error();
    const auto record = reader->meter(meter);
    if (!record)
        return record.error();
    if (*record == nullptr)
        return std::optional<registry::Fitness>();
    auto row = rowOf(*reader, **record, at);
    if (!row)
        return row.error();
    return std::optional(std::move(row->fitness));
}

} // namespace mk::store
