// SPDX-License-Identifier: GPL-3.0-or-later
// One meter's own records, without its control sets.
#include "registry/comparison/comparison.h"
#include "registry/meter/lookback.h"
#include "base/unread.h"
#include "store/db/rows.h"
#include "store/journal/journal.h"
#include "store/index/rows/catalogue_rows.h"
#include "store/index/rows/lot_rows.h"
#include "store/read/reader.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/meter_rows.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

Result<std::vector<StateSpell>> Reader::states(const base::MeterId& meter)
{
    static const Select<MeterStateRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY from_at, from_seq");
    const auto rows = readRows(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
    if (!rows)
        return rows.error();
    std::vector<StateSpell> spells;
    for (const auto& row : *rows)
        spells.push_back({ row.version.from, row.state, row.since, row.before });
    return spells;
}

Result<std::optional<StateSpell>> Reader::stateAt(const base::MeterId& meter, Moment at)
{
    const auto spells = states(meter);
    if (!spells)
        return spells.error();
    std::optional<StateSpell> last;
    for (const auto& spell : *spells)
        if (spell.since <= at)
            last = spell;
    return last;
}

Result<base::WardId> Reader::wardAt(const base::MeterId& meter, Moment at)
{
    const auto spells = wardSpells(meter, at);
    if (!spells)
        return spells.error();
    return spells->empty() ? base::WardId() : spells->back().ward;
}

Result<std::vector<StopRecord>> Reader::stops(const base::MeterId& meter)
{
    static const Select<MeterStopRow> sql("WHERE meter = :meter AND from_seq <= :known ORDER BY from_seq");
    auto rows = readRows(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
    if (!rows)
        return rows.error();
    std::vector<StopRecord> stops;
    for (auto& row : *rows) {
        StopRecord stop { row.from, std::move(row.act), {}, {} };
        if (row.end.by && *row.end.by <= m_asOf)
            stop.endedBy = row.end.by, stop.endedAt = row.end.at;
        stops.push_back(std::move(stop));
    }
    return stops;
}

Result<std::vector<IncidentRecord>> Reader::incidents(const base::MeterId& meter)
{
    static const Select<IncidentRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY happened_at, from_seq");
    return readRecords(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
}

Result<std::vector<ReturnRecord>> Reader::returnSteps(const base::MeterId& meter)
{
    static const Select<ReturnStepRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY from_seq");
    return readRecords(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
}

namespace {

Result<std::vector<PairRecord>> pairsFrom(const Reader& reader, const Select<ComparisonRow>& sql, const Values& values)
{
    auto rows = readRows(reader.session(), sql, values, reader.zone());
    if (!rows)
        return rows.error();
    std::vector<PairRecord> pairs;
    for (auto& row : *rows) {
        PairRecord pair { row.version.from, std::move(row.act), {} };
        pair.judged.pair = pair.pair.pair;
        pair.judged.meter = pair.pair.meter;
        pair.judged.at = std::max(pair.pair.meterAt, pair.pair.labAt);
        if (row.judged.outcome)
            pair.judged.outcome = *row.judged.outcome;
        pair.judged.excludedBecause = row.judged.excludedBecause.value_or(std::vector<std::string>());
        pair.judged.limits = row.judged.limits.value_or("");
        pair.judged.policyVersion = row.judged.policyVersion.value_or(1);
        pairs.push_back(std::move(pair));
    }
    return pairs;
}

} // namespace

Result<std::vector<PairRecord>> Reader::pairs(const base::MeterId& meter)
{
    static const Select<ComparisonRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY known_at, from_seq");
    return pairsFrom(*this, sql, asKnown({ { "meter", bound(meter.value) } }));
}

Result<std::vector<PairRecord>> Reader::pairsThatCount(const base::MeterId& meter, Moment at)
{
    static const Sql newestPassed({ ComparisonRow::table },
        "SELECT known_at FROM comparison WHERE meter = :meter AND " + known()
            + " AND known_at <= :at AND outcome = 'inside' AND round IS NULL ORDER BY known_at DESC LIMIT 1");
    static const Select<ComparisonRow> fromThen("WHERE meter = :meter AND " + known() + " AND known_at >= :at ORDER BY known_at, from_seq");
    std::optional<std::int64_t> passed;
    const Done read = eachRow(
        *m_session, newestPassed, asKnown({ { "meter", bound(meter.value) }, { "at", bound(at.utcMs) } }), [&](const Statement& row) {
            passed = row.number("known_at");
            return Done();
        });
    if (!read)
        return read.error();
    if (!passed)
        return pairs(meter);
    auto since = pairsFrom(*this, fromThen, asKnown({ { "meter", bound(meter.value) }, { "at", bound(*passed) } }));
    if (!since)
        return since.error();
    // A round may have begun earlier; and the tiers of a policy may fail a pair whose own outcome was inside.
    const auto comparisons = comparisonsOf(*since, at, [&](Moment when) -> const Policy& { return policyAt(when); });
    const bool enough = std::ranges::none_of(*since, [](const PairRecord& pair) { return pair.pair.round.has_value(); })
        && std::ranges::any_of(comparisons, [](const Comparison& c) { return c.judged.outcome == PairOutcome::Inside; });
    return enough ? since : pairs(meter);
}

Result<std::set<Seq>> Reader::reopenedLookbacks()
{
    if (!m_reopened) {
        const auto all = facts<acts::LookbackReopened>();
        if (!all)
            return all.error();
        m_reopened.emplace();
        for (const auto& each : *all)
            m_reopened->insert(each.act.entry);
    }
    return *m_reopened;
}

/// The index keeps the newest decision only; one that was taken back since stands in the journal.
Done Reader::readTurns(LookbackRecord& record)
{
    const std::string subject = "entry " + std::to_string(record.seq.value);
    const auto decided = facts<acts::LookbackClosed>(subject);
    const auto reopened = facts<acts::LookbackReopened>(subject);
    if (!decided || !reopened)
        return decided ? reopened.error() : decided.error();
    std::vector<registry::LookbackTurn> turns;
    for (const auto& each : *decided)
        turns.push_back({ each.seq, {}, each.act.decision });
    for (const auto& each : *reopened)
        turns.push_back({ each.seq, {}, {} });
    for (auto& turn : turns) {
        const auto entry = entryAt(*m_session, turn.seq);
        if (!entry || !*entry)
            return base::unread("entry %1 cannot be read; run verify", turn.seq.value, entry);
        turn.at = m_zone.at((*entry)->at);
    }
    record = { record.seq, std::move(record.lookback), {}, {}, {} };
    registry::decide(record, std::move(turns));
    return {};
}

Result<std::vector<LookbackRecord>> Reader::lookbacks(const base::MeterId& meter)
{
    static const Select<LookbackRow> sql("WHERE meter = :meter AND from_seq <= :known ORDER BY from_seq");
    auto rows = readRows(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
    if (!rows)
        return rows.error();
    const auto reopened = rows->empty() ? Result<std::set<Seq>>(std::set<Seq>()) : reopenedLookbacks();
    if (!reopened)
        return reopened.error();
    std::vector<LookbackRecord> lookbacks;
    for (auto& row : *rows) {
        LookbackRecord record { row.from, std::move(row.act), {}, {}, {} };
        const bool stands = row.end.by && *row.end.by <= m_asOf;
        if (stands)
            record.closedBy = row.end.by, record.closedAt = row.end.at, record.decision = std::move(row.end.decision);
        if (!stands || reopened->contains(record.seq))
            if (const Done told = readTurns(record); !told)
                return told.error();
        lookbacks.push_back(std::move(record));
    }
    return lookbacks;
}

Result<std::vector<SegmentBoundary>> Reader::boundaries(const base::MeterId& meter)
{
    static const Select<SegmentBoundaryRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY at");
    const auto rows = readRows(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), m_zone);
    if (!rows)
        return rows.error();
    std::vector<SegmentBoundary> boundaries;
    for (const auto& row : *rows)
        boundaries.push_back({ row.at, row.what == kReturned });
    return boundaries;
}

Result<std::vector<base::MeterId>> Reader::metersThatUsed(const std::string& id)
{
    // Each part by an index of its own. A person's runs have none: they are asked for where what a person was said to be is taken back.
    static const Sql sql({ ControlRunRow::table, StripVialRow::table, ControlVialRow::table, MeterRow::table, OperatorRow::table },
        "SELECT meter FROM control_run WHERE strip_vial = :id AND from_seq <= :known"
        " UNION SELECT meter FROM control_run WHERE control_vial = :id AND from_seq <= :known"
        " UNION SELECT meter FROM control_run WHERE strip_vial IN (SELECT vial FROM strip_vial WHERE lot = :id) AND from_seq <= :known"
        " UNION SELECT meter FROM control_run WHERE control_vial IN (SELECT vial FROM control_vial WHERE lot = :id) AND from_seq <= :known"
        " UNION SELECT m.meter FROM meter m WHERE (m.meter = :id OR m.model = :id) AND m.from_seq <= :known"
        " AND EXISTS (SELECT 1 FROM control_run r WHERE r.meter = m.meter AND r.from_seq <= :known)"
        " UNION SELECT r.meter FROM (SELECT DISTINCT operator FROM operator WHERE operator = :id) AS o CROSS JOIN control_run r"
        " WHERE r.operator = o.operator AND r.from_seq <= :known");
    std::vector<base::MeterId> meters;
    const Done done = eachRow(*m_session, sql, asKnown({ { "id", bound(id) } }), [&](const Statement& row) {
        meters.emplace_back(row.text("meter"));
        return Done();
    });
    if (!done)
        return done.error();
    return meters;
}

} // namespace mk::store
