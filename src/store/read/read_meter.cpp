// SPDX-License-Identifier: GPL-3.0-or-later
// One meter's own records, without its control sets.
#include "registry/comparison/comparison.h"
#include "store/read/read_pairs.h"
#include "store/db/rows.h"

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
    std::vector<StateSpell> spells;
    const Done done = eachRow(*m_session,
        "SELECT from_seq, state, from_at, before FROM meter_state WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_at, from_seq",
        keyed(meter.value), [&](const Statement& row) -> Done {
            StateSpell spell;
            spell.seq = { row.number(0) };
            spell.since = m_zone.at(row.number(2));
            if (const auto before = row.textOr(3))
                if (const Done word = wordFrom(*before, spell.before.emplace()); !word)
                    return word;
            const Done word = wordFrom(row.text(1), spell.state);
            spells.push_back(spell);
            return word;
        });
    if (!done)
        return done.error();
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
    base::WardId ward;
    QVariantList values = keyed(meter.value);
    values << bound(at.utcMs);
    const Done done = eachRow(*m_session,
        "SELECT ward FROM meter_ward WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND from_at <= ? ORDER BY from_at, from_seq",
        values, [&](const Statement& row) {
            ward = base::WardId(row.text(0));
            return Done();
        });
    if (!done)
        return done.error();
    return ward;
}

Result<std::vector<StopRecord>> Reader::stops(const base::MeterId& meter)
{
    std::vector<StopRecord> stops;
    const Done done = eachRow(*m_session,
        "SELECT from_seq, from_at, withdrawn, cause, because, needs_signature, by_policy, ended_at, ended_seq FROM meter_stop WHERE meter = ? AND from_seq <= ?"
        " ORDER BY from_seq",
        { bound(meter.value), bound(m_asOf.value) }, [&](const Statement& row) {
            StopRecord stop;
            stop.seq = { row.number(0) };
            stop.stop = { meter, m_zone.at(row.number(1)), row.number(2) != 0, row.text(3), { row.number(4) }, row.number(5) != 0,
                row.text(6) };
            const auto endedSeq = row.numberOr(8);
            if (endedSeq && *endedSeq <= m_asOf.value) {
                stop.endedBy = Seq { *endedSeq };
                stop.endedAt = m_zone.at(row.number(7));
            }
            stops.push_back(std::move(stop));
            return Done();
        });
    if (!done)
        return done.error();
    return stops;
}

Result<std::vector<IncidentRecord>> Reader::incidents(const base::MeterId& meter)
{
    return readRecords<acts::IncidentReported>(*m_session,
        "SELECT from_seq, at, noticed_at, meter, operator, kind, detail, agent, contact_time_kept, used FROM incident WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " ORDER BY happened_at, from_seq",
        keyed(meter.value));
}

Result<std::vector<ReturnRecord>> Reader::returnSteps(const base::MeterId& meter)
{
    return readRecords<acts::ReturnStep>(*m_session,
        "SELECT from_seq, at, meter, operator, step, detail FROM return_step WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
        keyed(meter.value));
}

namespace {

#define MK_PAIRS                                                                                                                                     \
    "SELECT from_seq, pair, meter, meter_at, lab_at, operator, strip_vial, sample, sample_type, meter_result, lab_result, unit, haematocrit, round," \
    " lab_sample_type, tube, method, fasting, drawn_at, separated_at, outcome,"                                                                      \
    " excluded_because, limits, policy FROM comparison WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"

Result<std::vector<PairRecord>> pairsFrom(Session& session, const char* sql, const QVariantList& values)
{
    std::vector<PairRecord> pairs;
    const Done done = eachRow(session, sql, values, [&](const Statement& row) -> Done {
        auto act = actFromRow<acts::ComparisonRecorded>(row, 1);
        if (!act)
            return act.error();
        PairRecord pair;
        pair.seq = { row.number(0) };
        pair.judged.pair = act->pair;
        pair.judged.meter = act->meter;
        pair.judged.at = std::max(act->meterAt, act->labAt);
        pair.pair = std::move(act).value();
        if (const auto outcome = row.textOr(20))
            if (const Done word = wordFrom(*outcome, pair.judged.outcome); !word)
                return word;
        pair.judged.excludedBecause = splitLines(row.textOr(21).value_or(""));
        pair.judged.limits = row.textOr(22).value_or("");
        pair.judged.policyVersion = row.numberOr(23).value_or(1);
        pairs.push_back(std::move(pair));
        return {};
    });
    if (!done)
        return done.error();
    return pairs;
}

} // namespace

Result<std::vector<PairRecord>> Reader::pairs(const base::MeterId& meter)
{
    return pairsFrom(*m_session, MK_PAIRS " ORDER BY known_at, from_seq", keyed(meter.value));
}

Result<std::vector<PairRecord>> pairsThatCount(Reader& reader, const base::MeterId& meter, Moment at)
{
    std::optional<std::int64_t> passed;
    const QVariant id = bound(meter.value), n = bound(reader.asOf().value);
    const Done read = eachRow(reader.session(),
        "SELECT known_at FROM comparison WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND known_at <= ? AND outcome = 'inside' AND round IS NULL"
        " ORDER BY known_at DESC LIMIT 1",
        { id, n, n, bound(at.utcMs) }, [&](const Statement& row) {
            passed = row.number(0);
            return Done();
        });
    if (!read)
        return read.error();
    if (!passed)
        return reader.pairs(meter);
    auto since = pairsFrom(reader.session(), MK_PAIRS " AND known_at >= ? ORDER BY known_at, from_seq", { id, n, n, bound(*passed) });
    if (!since)
        return since.error();
    // A round may have begun earlier; and the tiers of a policy may fail a pair whose own outcome was inside.
    const auto comparisons = comparisonsOf(*since, at, [&](Moment when) -> const Policy& { return reader.policyAt(when); });
    const bool enough = std::ranges::none_of(*since, [](const PairRecord& pair) { return pair.pair.round.has_value(); })
        && std::ranges::any_of(comparisons, [](const Comparison& c) { return c.judged.outcome == PairOutcome::Inside; });
    return enough ? since : reader.pairs(meter);
}

Result<std::vector<LookbackRecord>> Reader::lookbacks(const base::MeterId& meter)
{
    std::vector<LookbackRecord> lookbacks;
    const Done done = eachRow(*m_session,
        "SELECT from_seq, opened_at, interval_from, interval_to, cause, because, closed_at, closed_seq, decision, alternative_from, used_until, scope,"
        " direction FROM lookback WHERE meter = ? AND from_seq <= ?"
        " ORDER BY from_seq",
        { bound(meter.value), bound(m_asOf.value) }, [&](const Statement& row) {
            LookbackRecord record;
            record.seq = { row.number(0) };
            record.lookback = { meter, m_zone.at(row.number(1)), m_zone.at(row.number(2)), m_zone.at(row.number(3)), row.text(4),
                { row.number(5) }, {}, {}, row.textOr(11), row.textOr(12) };
            if (const auto from = row.numberOr(9))
                record.lookback.alternativeFrom = m_zone.at(*from);
            if (const auto until = row.numberOr(10))
                record.lookback.usedUntil = m_zone.at(*until);
            const auto closed = row.numberOr(7);
            if (closed && *closed <= m_asOf.value) {
                record.closedBy = Seq { *closed };
                record.closedAt = m_zone.at(row.number(6));
                record.decision = row.textOr(8);
            }
            lookbacks.push_back(std::move(record));
            return Done();
        });
    if (!done)
        return done.error();
    return lookbacks;
}

Result<std::vector<Moment>> Reader::boundaries(const base::MeterId& meter)
{
    std::vector<Moment> moments;
    const Done done = eachRow(*m_session,
        "SELECT at FROM segment_boundary WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY at",
        keyed(meter.value), [&](const Statement& row) {
            moments.push_back(m_zone.at(row.number(0)));
            return Done();
        });
    if (!done)
        return done.error();
    return moments;
}

Result<std::vector<base::MeterId>> Reader::metersThatUsed(const std::string& id)
{
    std::vector<base::MeterId> meters;
    const QVariant value = bound(id);
    // Each part by an index of its own. A person's runs have none: they are asked for where what a person was said to be is taken back.
    const Done done = eachRow(*m_session,
        "SELECT meter FROM control_run WHERE strip_vial = ? UNION SELECT meter FROM control_run WHERE control_vial = ?"
        " UNION SELECT meter FROM control_run WHERE strip_vial IN (SELECT vial FROM strip_vial WHERE lot = ?)"
        " UNION SELECT meter FROM control_run WHERE control_vial IN (SELECT vial FROM control_vial WHERE lot = ?)"
        " UNION SELECT m.meter FROM meter m WHERE (m.meter = ? OR m.model = ?) AND EXISTS (SELECT 1 FROM control_run r WHERE r.meter = m.meter)"
        " UNION SELECT r.meter FROM (SELECT DISTINCT operator FROM operator WHERE operator = ?) AS o CROSS JOIN control_run r WHERE r.operator = o.operator",
        { value, value, value, value, value, value, value }, [&](const Statement& row) {
            meters.emplace_back(row.text(0));
            return Done();
        });
    if (!done)
        return done.error();
    return meters;
}

} // namespace mk::store
