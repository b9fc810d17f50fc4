// SPDX-License-Identifier: GPL-3.0-or-later
// Control sets as they were judged, with their runs.
#include "registry/control/late_entry.h"
#include "store/db/rows.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/read/reader.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

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
    static const Sql sql({ ControlRunRow::table, Entry::table, RunVerdictRow::table },
        "SELECT " + columnList(columnsOf<ControlRunRow>(), "r") + ", " + columnList(columnsOf<RunVerdictRow>(), "v")
            + ", j.at AS recorded_at, j.operator AS entered_by, j.body FROM control_run r JOIN journal j ON j.seq = r.run_seq"
              " LEFT JOIN run_verdict v ON v.set_id = r.set_id AND v.run_seq = r.run_seq AND "
            + known("v") + " WHERE r.set_id = :set_id AND " + known("r") + " ORDER BY r.run_seq");
    std::vector<RunRecord> runs;
    const Done done = eachRow(*m_session, sql, asKnown({ { "set_id", bound(id.value) } }), [&](const Statement& row) -> Done {
        auto typed = rowFrom<ControlRunRow>(row, m_zone, "r");
        if (!typed)
            return typed.error();
        RunRecord run { typed->run, typed->version.from, std::move(typed->act), {} };
        if (row.textOr("v_set_id")) { // else it was not judged yet
            auto verdict = rowFrom<RunVerdictRow>(row, m_zone, "v");
            if (!verdict)
                return verdict.error();
            run.judged = std::move(verdict->judged);
        }
        run.judged.run = run.seq;
        run.judged.level = run.run.level;
        const Moment recorded = m_zone.at(row.number("recorded_at"));
        const std::string body = row.text("body");
        run.mark = markOf(run.run.at, recorded, row.text("entered_by"), saysImported(body), policyAt(recorded), keptSince(body));
        const auto leapt = clockLeaptBefore(run.seq);
        if (!leapt)
            return leapt.error();
        run.mark->clockLeapt = *leapt;
        runs.push_back(std::move(run));
        return {};
    });
    if (!done)
        return done.error();
    std::ranges::stable_sort(runs, {}, [](const RunRecord& run) { return run.run.at; });
    return runs;
}

Result<bool> Reader::clockLeaptBefore(Seq entry)
{
    static const Select<ClockNoticeRow> everyNotice("WHERE seq <= :known ORDER BY seq");
    if (!m_clockNotices) {
        const auto rows = readRows(*m_session, everyNotice, asKnown({}), m_zone);
        if (!rows)
            return rows.error();
        m_clockNotices.emplace();
        for (const auto& row : *rows)
            m_clockNotices->emplace(row.seq, row.direction == "forward");
    }
    const auto after = m_clockNotices->upper_bound(entry);
    return after != m_clockNotices->begin() && std::prev(after)->second;
}

Result<std::vector<SetRecord>> Reader::setRows(const Select<SetVerdictRow>& sql, const Values& values)
{
    auto rows = readRows(*m_session, sql, values, m_zone);
    if (!rows)
        return rows.error();
    std::vector<SetRecord> sets;
    for (auto& row : *rows) {
        SetRecord& set = sets.emplace_back(SetRecord { row.version.from, std::move(row.judged), {} });
        if (const Done loaded = loadRuns(set); !loaded)
            return loaded.error();
    }
    return sets;
}

Result<std::vector<SetRecord>> Reader::sets(const base::MeterId& meter, Moment from, Moment to)
{
    static const Select<SetVerdictRow> sql(
        "WHERE meter = :meter AND " + known() + " AND last_at >= :first AND last_at <= :last ORDER BY last_at, from_seq");
    return setRows(sql, asKnown({ { "meter", bound(meter.value) }, { "first", bound(from.utcMs) }, { "last", bound(to.utcMs) } }));
}

Result<std::vector<SetRecord>> Reader::newestSets(const base::MeterId& meter, Moment by, int most)
{
    static const Select<SetVerdictRow> sql(
        "WHERE meter = :meter AND " + known() + " AND first_at <= :at ORDER BY last_at DESC, from_seq DESC LIMIT :most");
    return setRows(sql, asKnown({ { "meter", bound(meter.value) }, { "at", bound(by.utcMs) }, { "most", bound(std::int64_t { most }) } }));
}

Result<std::optional<SetRecord>> Reader::set(const base::SetId& id)
{
    static const Select<SetVerdictRow> sql("WHERE set_id = :set_id AND " + known());
    return oneSet(sql, asKnown({ { "set_id", bound(id.value) } }));
}

Result<std::vector<base::SetId>> Reader::setsWithRuns(const base::MeterId& meter)
{
    static const Sql sql(
        { ControlRunRow::table }, "SELECT set_id, at FROM control_run WHERE meter = :meter AND " + known() + " ORDER BY set_id");
    std::vector<std::pair<Moment, base::SetId>> found;
    const Done done = eachRow(*m_session, sql, asKnown({ { "meter", bound(meter.value) } }), [&](const Statement& row) {
        const Moment at = momentFrom(row.text("at"));
        base::SetId set(row.text("set_id"));
        if (!found.empty() && found.back().second == set)
            found.back().first = std::max(found.back().first, at);
        else
            found.emplace_back(at, std::move(set));
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
    static const Select<SetVerdictRow> sql("WHERE meter = :meter AND " + known()
        + " AND last_at <= :at AND verdict IN ('accepted', 'warned') ORDER BY last_at DESC, from_seq DESC LIMIT 1");
    return oneSet(sql, asKnown({ { "meter", bound(meter.value) }, { "at", bound(by.utcMs) } }));
}

Result<std::optional<SetRecord>> Reader::newestCountedSet(const base::MeterId& meter, Moment by)
{
    static const Select<SetVerdictRow> sql(
        "WHERE meter = :meter AND " + known() + " AND last_at <= :at AND counted = 1 ORDER BY last_at DESC, from_seq DESC LIMIT 1");
    return oneSet(sql, asKnown({ { "meter", bound(meter.value) }, { "at", bound(by.utcMs) } }));
}

Result<std::optional<SetRecord>> Reader::oneSet(const Select<SetVerdictRow>& sql, const Values& values)
{
    auto sets = setRows(sql, values);
    if (!sets)
        return sets.error();
    return sets->empty() ? std::nullopt : std::optional(std::move(sets->front()));
}

} // namespace mk::store
