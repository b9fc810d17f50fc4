// SPDX-License-Identifier: GPL-3.0-or-later
// Which vials and lots were run, and with what outcome: asked for each vial that stands open, so nothing here reads a whole history.
#include "store/db/rows.h"
#include "store/index/rows/catalogue_rows.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/lot_rows.h"
#include "store/index/rows/meter_rows.h"
#include "store/read/reader.h"

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;

namespace {

constexpr std::int64_t kWeekMs = 7 * std::int64_t { 86'400'000 };

Result<bool> anyRow(Session& session, const Sql& sql, const Values& values)
{
    bool any = false;
    const Done read = eachRow(session, sql, values, [&](const Statement&) {
        any = true;
        return Done();
    });
    if (!read)
        return read.error();
    return any;
}

} // namespace

// CROSS JOIN keeps SQLite to the order in which the tables are written: the few rows of the vial first.

Result<bool> Reader::acceptedOn(const base::StripVialId& vial, Moment by, const std::optional<base::MeterId>& meter)
{
    static const std::string begin = "SELECT 1 AS found FROM control_run r CROSS JOIN set_verdict s WHERE r.strip_vial = :vial AND "
        + known("r") + " AND s.set_id = r.set_id AND " + known("s") + " AND s.verdict IN ('accepted', 'warned') AND s.last_at <= :by";
    static const Sql ofAny({ ControlRunRow::table, SetVerdictRow::table }, begin + " LIMIT 1");
    static const Sql ofOne({ ControlRunRow::table, SetVerdictRow::table }, begin + " AND s.meter = :meter LIMIT 1");
    Values values { { "vial", bound(vial.value) }, { "by", bound(by.utcMs) } };
    if (meter)
        values.push_back({ "meter", bound(meter->value) });
    return anyRow(*m_session, meter ? ofOne : ofAny, asKnown(std::move(values)));
}

Result<bool> Reader::acceptedOnLot(const base::StripLotId& lot, const base::MeterId& meter, Moment from, Moment to)
{
    static const Sql sql({ SetVerdictRow::table, RunVerdictRow::table },
        "SELECT 1 AS found FROM set_verdict s CROSS JOIN run_verdict v WHERE s.meter = :meter AND s.last_at >= :first"
        " AND s.last_at <= :last AND "
            + known("s") + " AND s.verdict IN ('accepted', 'warned') AND v.set_id = s.set_id AND v.strip_lot = :lot AND " + known("v")
            + " ORDER BY s.last_at DESC LIMIT 1");
    return anyRow(*m_session, sql,
        asKnown(
            { { "meter", bound(meter.value) }, { "lot", bound(lot.value) }, { "first", bound(from.utcMs) }, { "last", bound(to.utcMs) } }));
}

Result<std::vector<ControlVialUse>> Reader::usesAround(const base::ControlVialId& vial, Level level, std::int64_t withinMs)
{
    // The other set is looked for by the time of its last run, which the index has; no set goes on for a week.
    static const Sql sql({ ControlRunRow::table, SetVerdictRow::table, RunVerdictRow::table },
        "SELECT DISTINCT r.meter, r.control_vial, r.at FROM control_run o CROSS JOIN set_verdict t CROSS JOIN set_verdict s"
        " CROSS JOIN run_verdict v CROSS JOIN control_run r WHERE o.control_vial = :vial AND "
            + known("o") + " AND t.set_id = o.set_id AND " + known("t")
            + " AND s.meter = t.meter AND s.last_at >= t.first_at - :within AND s.last_at <= t.last_at + :later"
              " AND s.first_at <= t.last_at + :within AND "
            + known("s") + " AND v.set_id = s.set_id AND v.level = :level AND v.valid = 1 AND v.in_range = 1 AND " + known("v")
            + " AND r.set_id = v.set_id AND r.run_seq = v.run_seq AND " + known("r"));
    std::vector<ControlVialUse> uses;
    const Done read = eachRow(*m_session, sql,
        asKnown({ { "vial", bound(vial.value) }, { "level", ColumnForm<Level>::write(level) }, { "within", bound(withinMs) },
            { "later", bound(withinMs + kWeekMs) } }),
        [&](const Statement& row) {
            uses.push_back({ base::MeterId(row.text("meter")), base::ControlVialId(row.text("control_vial")), momentFrom(row.text("at")) });
            return Done();
        });
    if (!read)
        return read.error();
    return uses;
}

Result<std::vector<UsualStanding>> Reader::standings(const base::ModelId& model, const base::MeterId& except, Moment from, Moment to)
{
    // One seek for each meter of the model.
    static const Sql sql({ MeterRow::table, SetVerdictRow::table },
        "SELECT s.meter, s.last_text, s.drift FROM meter m CROSS JOIN set_verdict s WHERE m.model = :model AND " + known("m")
            + " AND m.meter <> :except AND s.meter = m.meter AND s.last_at = (SELECT MAX(x.last_at) FROM set_verdict x"
              " WHERE x.meter = m.meter AND x.counted = 1 AND x.last_at >= :first AND x.last_at <= :last AND "
            + known("x") + ") AND s.counted = 1 AND " + known("s"));
    std::vector<UsualStanding> standings;
    const Done read = eachRow(*m_session, sql,
        asKnown({ { "model", bound(model.value) }, { "except", bound(except.value) }, { "first", bound(from.utcMs) },
            { "last", bound(to.utcMs) } }),
        [&](const Statement& row) -> Done {
            auto drift = driftFrom(row.text("drift"));
            if (!drift)
                return drift.error();
            if (drift->usual)
                standings.push_back({ base::MeterId(row.text("meter")), momentFrom(row.text("last_text")), std::move(*drift->usual) });
            return {};
        });
    if (!read)
        return read.error();
    return standings;
}

Result<std::vector<SetRecord>> Reader::firstSetsOnLots(
    const base::StripLotId& strip, const base::ControlLotId& control, Moment before, int most)
{
    static const Sql sql({ StripVialRow::table, ControlRunRow::table, ControlVialRow::table, SetVerdictRow::table },
        "SELECT DISTINCT s.last_at, s.set_id FROM strip_vial v CROSS JOIN control_run r CROSS JOIN set_verdict s WHERE v.lot = :strip AND "
            + known("v") + " AND r.strip_vial = v.vial AND " + known("r")
            + " AND r.control_vial IN (SELECT c.vial FROM control_vial c WHERE c.lot = :control) AND s.set_id = r.set_id AND " + known("s")
            + " AND s.last_at < :before ORDER BY s.last_at, s.set_id LIMIT :most");
    std::vector<base::SetId> ids;
    const Done read = eachRow(*m_session, sql,
        asKnown({ { "strip", bound(strip.value) }, { "control", bound(control.value) }, { "before", bound(before.utcMs) },
            { "most", bound(std::int64_t { most }) } }),
        [&](const Statement& row) {
            ids.emplace_back(row.text("set_id"));
            return Done();
        });
    if (!read)
        return read.error();
    std::vector<SetRecord> sets;
    for (const auto& id : ids) {
        auto each = set(id);
        if (!each)
            return each.error();
        if (*each)
            sets.push_back(std::move(**each));
    }
    return sets;
}

} // namespace mk::store
