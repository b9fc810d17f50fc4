// SPDX-License-Identifier: GPL-3.0-or-later
// Control sets as they were judged, with their runs.
#include "registry/control/late_entry.h"
#include "store/journal/act_codec.h"
#include "store/read/reader.h"
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

namespace {

/// Columns 0.. : meter, last_text, set_id, from_seq, first_text, ward, attempt, verdict, rules, shift, segment_start, counted, drift,
/// policy, rule_set, old_verdict, because
#define MK_SET_COLUMNS                                                                                                                     \
    "meter, last_text, set_id, from_seq, first_text, ward, attempt, verdict, rules, shift, segment_start, counted, drift, policy, rule_set, old_verdict, because"

Result<SetRecord> setFromRow(const Statement& row)
{
    SetRecord record;
    auto& set = record.judged;
    set.meter = base::MeterId(row.text(0));
    set.lastAt = momentFrom(row.text(1));
    set.set = base::SetId(row.text(2));
    record.seq = { row.number(3) };
    set.firstAt = momentFrom(row.text(4));
    set.ward = base::WardId(row.text(5));
    set.attempt = static_cast<int>(row.number(6));
    if (const Done word = wordFrom(row.text(7), set.verdict); !word)
        return word.error();
    set.rules = splitLines(row.text(8));
    set.shift = row.number(9) != 0;
    set.segmentStart = row.number(10) != 0;
    auto drift = driftFrom(row.text(12));
    if (!drift)
        return drift.error();
    set.drift = std::move(drift).value();
    set.policyVersion = row.number(13);
    set.ruleSet = row.number(14);
    if (const auto old = row.textOr(15))
        if (const Done word = wordFrom(*old, set.oldVerdict.emplace()); !word)
            return word.error();
    if (const auto because = row.numberOr(16))
        set.because = Seq { *because };
    return record;
}

template <typename T>
void takeText(const std::optional<std::string>& text, std::optional<T>& into)
{
    static const Zone utc = Zone::utc();
    if (!text)
        return;
    if (auto value = TextForm<T>::read(*text, { &utc, nullptr }))
        into = std::move(value).value();
}

/// Columns of run_verdict from `at` on; all null where the run was not judged yet.
Done judgedFromRow(const Statement& row, int at, acts::JudgedRun& judged)
{
    if (!row.textOr(at))
        return {};
    judged.attempt = static_cast<int>(row.number(at + 1));
    judged.valid = row.number(at + 2) != 0;
    judged.invalidBecause = splitLines(row.text(at + 3));
    takeText(row.textOr(at + 4), judged.low);
    takeText(row.textOr(at + 5), judged.high);
    takeText(row.textOr(at + 6), judged.mean);
    takeText(row.textOr(at + 7), judged.sd);
    takeText(row.textOr(at + 8), judged.stage);
    if (const auto inRange = row.numberOr(at + 9))
        judged.inRange = *inRange != 0;
    judged.z = row.realOr(at + 10);
    judged.evaluable = row.number(at + 11) != 0;
    judged.counted = row.number(at + 12) != 0;
    judged.rules = splitLines(row.text(at + 13));
    judged.stripLot = base::StripLotId(row.text(at + 14));
    judged.controlLot = base::ControlLotId(row.text(at + 15));
    return wordFrom(row.text(at + 16), judged.verdict);
}

} // namespace

Done Reader::loadRuns(SetRecord& set)
{
    auto read = runs(set.judged.set);
    if (!read)
        return read.error();
    auto loaded = std::move(read).value();
    // A run that joined the set after this verdict is not part of it.
    std::erase_if(
        loaded, [](const RunRecord& run) { return run.judged.stripLot.empty() && run.judged.invalidBecause.empty() && !run.judged.valid; });
    set.runs = std::move(loaded);
    set.judged.runs.clear();
    for (const auto& run : set.runs)
        set.judged.runs.push_back(run.judged);
    return {};
}

Result<std::vector<RunRecord>> Reader::runs(const base::SetId& id)
{
    std::vector<RunRecord> runs;
    const QVariant n = bound(m_asOf.value);
    const Done done = eachRow(*m_session,
        "SELECT r.run_seq, r.from_seq, r.set_id, r.at, r.meter, r.operator, r.strip_vial, r.level, r.control_vial, r.result, r.unit, r.reason, r.repeat_of, r.comment,"
        " r.code_shown, r.supervisor, r.deviation, r.late_reason, r.form, r.question, r.answer, v.level, v.attempt, v.valid, v.invalid_because, v.low, v.high, v.mean, v.sd, v.stage, v.in_range, v.z, v.evaluable, v.counted, v.rules,"
        " v.strip_lot, v.control_lot, v.verdict, j.at, j.operator, j.body FROM control_run r JOIN journal j ON j.seq = r.run_seq LEFT JOIN run_verdict v ON v.set_id = r.set_id AND v.run_seq = r.run_seq AND v.from_seq <= ?"
        " AND (v.to_seq IS NULL OR v.to_seq > ?) WHERE r.set_id = ? AND r.from_seq <= ? AND (r.to_seq IS NULL OR r.to_seq > ?) ORDER BY r.run_seq",
        { n, n, bound(id.value), n, n }, [&](const Statement& row) -> Done {
            auto act = actFromRow<acts::ControlRun>(row, 2);
            if (!act)
                return act.error();
            RunRecord run { { row.number(0) }, { row.number(1) }, std::move(act).value(), {} };
            run.judged.run = run.seq;
            run.judged.level = run.run.level;
            if (const Done judged = judgedFromRow(row, 21, run.judged); !judged)
                return judged;
            const Moment recorded = m_zone.at(row.number(38));
            run.mark = markOf(run.run.at, recorded, row.text(39), saysImported(row.text(40)), policyAt(recorded), keptSince(row.text(40)));
            runs.push_back(std::move(run));
            return {};
        });
    if (!done)
        return done.error();
    std::ranges::stable_sort(runs, {}, [](const RunRecord& run) { return run.run.at; });
    return runs;
}

Result<std::vector<SetRecord>> Reader::setRows(Statement& query)
{
    std::vector<SetRecord> sets;
    while (query.next()) {
        auto set = setFromRow(query);
        if (!set) {
            static_cast<void>(query.finished());
            return set.error();
        }
        sets.push_back(std::move(set).value());
    }
    if (const Done done = query.finished(); !done)
        return done.error();
    for (auto& set : sets)
        if (const Done loaded = loadRuns(set); !loaded)
            return loaded.error();
    return sets;
}

Result<std::vector<SetRecord>> Reader::sets(const base::MeterId& meter, Moment from, Moment to)
{
    auto query = m_session->statement(
        "SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " AND last_at >= ? AND last_at <= ? ORDER BY last_at, from_seq");
    if (!query)
        return query.error();
    QVariantList values = keyed(meter.value);
    values << bound(from.utcMs) << bound(to.utcMs);
    if (const Done ran = query->run(values); !ran)
        return ran.error();
    return setRows(*query);
}

Result<std::vector<SetRecord>> Reader::newestSets(const base::MeterId& meter, Moment by, int most)
{
    auto query = m_session->statement(
        "SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " AND first_at <= ? ORDER BY last_at DESC, from_seq DESC LIMIT ?");
    if (!query)
        return query.error();
    QVariantList values = keyed(meter.value);
    values << bound(by.utcMs) << bound(std::int64_t { most });
    if (const Done ran = query->run(values); !ran)
        return ran.error();
    return setRows(*query);
}

Result<std::optional<SetRecord>> Reader::set(const base::SetId& id)
{
    auto query = m_session->statement(
        "SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE set_id = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)");
    if (!query)
        return query.error();
    if (const Done ran = query->run(keyed(id.value)); !ran)
        return ran.error();
    auto sets = setRows(*query);
    if (!sets)
        return sets.error();
    return sets->empty() ? std::nullopt : std::optional(std::move(sets->front()));
}

Result<std::vector<base::SetId>> Reader::setsWithRuns(const base::MeterId& meter)
{
    std::vector<std::pair<Moment, base::SetId>> found;
    const Done done = eachRow(*m_session,
        "SELECT set_id, at FROM control_run WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY set_id",
        keyed(meter.value), [&](const Statement& row) {
            const Moment at = momentFrom(row.text(1));
            if (!found.empty() && found.back().second.value == row.text(0))
                found.back().first = std::max(found.back().first, at);
            else
                found.emplace_back(at, base::SetId(row.text(0)));
            return Done();
        });
    if (!done)
        return done.error();
    std::ranges::stable_sort(found, {}, &std::pair<Moment, base::SetId>::first);
    std::vector<base::SetId> ids;
    for (auto& [at, id] : found)
        ids.push_back(std::move(id));
    return ids;
}

Result<std::optional<SetRecord>> Reader::newestAcceptedSet(const base::MeterId& meter, Moment by)
{
    return oneSet("SELECT " MK_SET_COLUMNS
                  " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND last_at <= ?"
                  " AND verdict IN ('accepted', 'warned') ORDER BY last_at DESC, from_seq DESC LIMIT 1",
        meter, by);
}

Result<std::optional<SetRecord>> Reader::newestCountedSet(const base::MeterId& meter, Moment by)
{
    return oneSet("SELECT " MK_SET_COLUMNS
                  " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND last_at <= ?"
                  " AND counted = 1 ORDER BY last_at DESC, from_seq DESC LIMIT 1",
        meter, by);
}

Result<std::optional<SetRecord>> Reader::oneSet(const char* sql, const base::MeterId& meter, Moment by)
{
    auto query = m_session->statement(sql);
    if (!query)
        return query.error();
    QVariantList values = keyed(meter.value);
    values << bound(by.utcMs);
    if (const Done ran = query->run(values); !ran)
        return ran.error();
    auto sets = setRows(*query);
    if (!sets)
        return sets.error();
    return sets->empty() ? std::nullopt : std::optional(std::move(sets->front()));
}

} // namespace mk::store
