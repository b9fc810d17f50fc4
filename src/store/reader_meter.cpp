// SPDX-License-Identifier: GPL-3.0-or-later
// One meter's own records: its states, its sets, and the history that its fitness rests on.
#include "registry/expiry.h"
#include "registry/meter_life.h"
#include "store/act_codec.h"
#include "store/reader.h"
#include "store/rows.h"

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

constexpr std::int64_t kHourMs = 3'600'000;

Fault unreadable(const char* what)
{
    return { FaultKind::Damaged, std::string("an index row of ") + what + " cannot be read; run verify" };
}

/// Columns 0.. : meter, last_text, set_id, from_seq, first_text, ward, attempt, verdict, rules, shift, segment_start, counted, drift, policy, rule_set, old_verdict, because
constexpr int kSetColumns = 17;
#define MK_SET_COLUMNS                                                                                                                                           \
    "meter, last_text, set_id, from_seq, first_text, ward, attempt, verdict, rules, shift, segment_start, counted, drift, policy, rule_set, old_verdict, because"

Result<SetRecord> setFromRow(const Statement& row)
{
    static_assert(kSetColumns == 17);
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

template <typename A>
Result<std::vector<Record<A>>> readMeterRecords(Session& session, const char* sql, const QVariantList& values)
{
    std::vector<Record<A>> records;
    const Done done = eachRow(session, sql, values, [&](const Statement& row) -> Done {
        auto act = actFromRow<A>(row, 1);
        if (!act)
            return act.error();
        records.push_back({ { row.number(0) }, std::move(act).value() });
        return {};
    });
    if (!done)
        return done.error();
    return records;
}

bool holds(const SetRecord& set)
{
    return set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned;
}

} // namespace

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
        "SELECT ward FROM meter_ward WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND from_at <= ? ORDER BY from_at, from_seq", values,
        [&](const Statement& row) {
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
            stop.stop = { meter, m_zone.at(row.number(1)), row.number(2) != 0, row.text(3), { row.number(4) }, row.number(5) != 0, row.text(6) };
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
    return readMeterRecords<acts::IncidentReported>(*m_session,
        "SELECT from_seq, at, noticed_at, meter, operator, kind, detail FROM incident WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " ORDER BY happened_at, from_seq",
        keyed(meter.value));
}

Result<std::vector<ReturnRecord>> Reader::returnSteps(const base::MeterId& meter)
{
    return readMeterRecords<acts::ReturnStep>(*m_session,
        "SELECT from_seq, at, meter, operator, step, detail FROM return_step WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
        keyed(meter.value));
}

Result<std::vector<PairRecord>> Reader::pairs(const base::MeterId& meter)
{
    std::vector<PairRecord> pairs;
    const Done done = eachRow(*m_session,
        "SELECT from_seq, pair, meter, meter_at, lab_at, operator, strip_vial, sample, sample_type, meter_result, lab_result, unit, haematocrit, outcome,"
        " excluded_because, limits, policy FROM comparison WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY known_at, from_seq",
        keyed(meter.value), [&](const Statement& row) -> Done {
            auto act = actFromRow<acts::ComparisonRecorded>(row, 1);
            if (!act)
                return act.error();
            PairRecord pair;
            pair.seq = { row.number(0) };
            pair.judged.pair = act->pair;
            pair.judged.meter = meter;
            pair.judged.at = std::max(act->meterAt, act->labAt);
            pair.pair = std::move(act).value();
            if (const auto outcome = row.textOr(13))
                if (const Done word = wordFrom(*outcome, pair.judged.outcome); !word)
                    return word;
            pair.judged.excludedBecause = splitLines(row.textOr(14).value_or(""));
            pair.judged.limits = row.textOr(15).value_or("");
            pair.judged.policyVersion = row.numberOr(16).value_or(1);
            pairs.push_back(std::move(pair));
            return {};
        });
    if (!done)
        return done.error();
    return pairs;
}

Result<std::vector<LookbackRecord>> Reader::lookbacks(const base::MeterId& meter)
{
    std::vector<LookbackRecord> lookbacks;
    const Done done = eachRow(*m_session,
        "SELECT from_seq, opened_at, interval_from, interval_to, cause, because, closed_at, closed_seq, decision FROM lookback WHERE meter = ? AND from_seq <= ?"
        " ORDER BY from_seq",
        { bound(meter.value), bound(m_asOf.value) }, [&](const Statement& row) {
            LookbackRecord record;
            record.seq = { row.number(0) };
            record.lookback = { meter, m_zone.at(row.number(1)), m_zone.at(row.number(2)), m_zone.at(row.number(3)), row.text(4), { row.number(5) } };
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
    const Done done = eachRow(*m_session, "SELECT at FROM segment_boundary WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY at",
        keyed(meter.value), [&](const Statement& row) {
            moments.push_back(m_zone.at(row.number(0)));
            return Done();
        });
    if (!done)
        return done.error();
    return moments;
}

Done Reader::loadRuns(SetRecord& set)
{
    auto read = runs(set.judged.set);
    if (!read)
        return read.error();
    auto loaded = std::move(read).value();
    // A run that joined the set after this verdict is not part of it.
    std::erase_if(loaded, [](const RunRecord& run) { return run.judged.stripLot.empty() && run.judged.invalidBecause.empty() && !run.judged.valid; });
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
        " r.code_shown, v.level, v.attempt, v.valid, v.invalid_because, v.low, v.high, v.mean, v.sd, v.stage, v.in_range, v.z, v.evaluable, v.counted, v.rules,"
        " v.strip_lot, v.control_lot, v.verdict FROM control_run r LEFT JOIN run_verdict v ON v.set_id = r.set_id AND v.run_seq = r.run_seq AND v.from_seq <= ?"
        " AND (v.to_seq IS NULL OR v.to_seq > ?) WHERE r.set_id = ? AND r.from_seq <= ? AND (r.to_seq IS NULL OR r.to_seq > ?) ORDER BY r.run_seq",
        { n, n, bound(id.value), n, n }, [&](const Statement& row) -> Done {
            auto act = actFromRow<acts::ControlRun>(row, 2);
            if (!act)
                return act.error();
            RunRecord run { { row.number(0) }, { row.number(1) }, std::move(act).value(), {} };
            run.judged.run = run.seq;
            run.judged.level = run.run.level;
            if (const Done judged = judgedFromRow(row, 15, run.judged); !judged)
                return judged;
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
    auto query = m_session->statement("SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
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
    auto query = m_session->statement("SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
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
    auto query = m_session->statement("SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE set_id = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)");
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
        "SELECT set_id, at FROM control_run WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY set_id", keyed(meter.value),
        [&](const Statement& row) {
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

Done Reader::historyOfSets(MeterHistory& history, Moment at)
{
    const base::MeterId& meter = history.meter.act.meter;
    auto newest = newestSets(meter, at, 8);
    if (!newest)
        return newest.error();
    if (!newest->empty())
        history.newestSet = newest->front();
    const auto take = [&](const SetRecord& set) {
        if (!history.newestAccepted && holds(set) && set.judged.lastAt <= at)
            history.newestAccepted = set;
        if (!history.newestCounted && set.judged.drift.counted && set.judged.lastAt <= at)
            history.newestCounted = set;
    };
    for (const auto& set : *newest)
        take(set);
    // Further back only where the last few do not answer.
    const auto one = [&](const char* sql) -> Result<std::vector<SetRecord>> {
        auto query = m_session->statement(sql);
        if (!query)
            return query.error();
        QVariantList values = keyed(meter.value);
        values << bound(at.utcMs);
        if (const Done ran = query->run(values); !ran)
            return ran.error();
        return setRows(*query);
    };
    if (!history.newestAccepted) {
        const auto found = one("SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND last_at <= ?"
                               " AND verdict IN ('accepted', 'warned') ORDER BY last_at DESC LIMIT 1");
        if (!found)
            return found.error();
        if (!found->empty())
            take(found->front());
    }
    if (!history.newestCounted) {
        const auto found = one("SELECT " MK_SET_COLUMNS " FROM set_verdict WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) AND last_at <= ?"
                               " AND counted = 1 ORDER BY last_at DESC LIMIT 1");
        if (!found)
            return found.error();
        if (!found->empty())
            take(found->front());
    }
    // Error codes of runs, from the sets of the policy's time span.
    const Policy& policy = policyAt(at);
    for (const auto& set : *newest)
        for (const auto& run : set.runs)
            if (std::holds_alternative<ErrorCode>(run.run.result) && run.run.at <= at && run.run.at.utcMs > at.utcMs - policy.errorCodeHours * kHourMs)
                history.errorCodes.push_back(run.run.at);
    return {};
}

Done Reader::historyOfStripVial(MeterHistory& history, Moment at)
{
    if (!history.newestSet || history.newestSet->runs.empty())
        return {};
    const auto vial = stripVial(history.newestSet->runs.back().run.stripVial);
    if (!vial)
        return vial.error();
    if (*vial == nullptr)
        return {};
    history.stripVial = **vial;
    const auto lot = stripLot((*vial)->vial.lot);
    if (!lot)
        return lot.error();
    if (*lot != nullptr)
        history.stripLot = **lot;
    if (!history.stripVial->ended || history.stripVial->ended->act.at > at)
        return {};
    const auto open = openStripVials(history.ward, at);
    if (!open)
        return open.error();
    for (const auto& candidate : *open) {
        const auto itsLot = stripLot(candidate.vial.lot);
        if (!itsLot)
            return itsLot.error();
        if (*itsLot != nullptr && (*itsLot)->lot.model == history.meter.act.model && againstStripVial(&candidate, *itsLot, at, m_zone).empty())
            history.otherStripVialOpen = true;
    }
    return {};
}

Result<MeterHistory> Reader::history(const MeterRecord& meter, Moment at)
{
    MeterHistory history;
    history.meter = meter;
    const base::MeterId& id = meter.act.meter;
    const auto itsModel = model(meter.act.model);
    auto ward = wardAt(id, at);
    auto state = stateAt(id, at);
    auto allStops = stops(id);
    auto allIncidents = incidents(id);
    auto allPairs = pairs(id);
    auto allLookbacks = lookbacks(id);
    if (!itsModel || !ward || !state || !allStops || !allIncidents || !allPairs || !allLookbacks)
        return unreadable("a meter");
    if (*itsModel != nullptr)
        history.model = **itsModel;
    history.ward = std::move(ward).value();
    history.state = *state;
    for (const auto& stop : *allStops)
        if (stop.stop.at <= at && (!stop.endedAt || *stop.endedAt > at))
            history.openStops.push_back(stop);
    if (const Done done = historyOfSets(history, at); !done)
        return done.error();
    if (const Done done = historyOfStripVial(history, at); !done)
        return done.error();

    const Policy& policy = policyAt(at);
    std::optional<IncidentRecord> soiled, cleaned;
    for (const auto& incident : *allIncidents) {
        if (incident.act.at > at)
            continue;
        if (incident.act.what == IncidentKind::Soiled)
            soiled = incident;
        else if (incident.act.what == IncidentKind::Cleaned)
            cleaned = incident;
        else if (incident.act.what == IncidentKind::ErrorCode && incident.act.at.utcMs > at.utcMs - policy.errorCodeHours * kHourMs)
            history.errorCodes.push_back(incident.act.at);
        const bool sinceAccepted = !history.newestAccepted || incident.act.at >= history.newestAccepted->judged.lastAt;
        const bool stops = std::ranges::any_of(history.openStops, [&](const StopRecord& stop) { return stop.stop.because == incident.seq; });
        if (sinceAccepted || stops)
            history.incidents.push_back(incident);
    }
    for (const auto& each : { soiled, cleaned })
        if (each)
            history.cleanings.push_back(*each);
    std::ranges::sort(history.errorCodes);
    for (const auto& pair : *allPairs) {
        if (pair.judged.at > at || pair.judged.outcome == PairOutcome::Excluded)
            continue;
        history.newestPair = pair;
        if (pair.judged.outcome == PairOutcome::Inside)
            history.newestPassedPair = pair;
    }
    for (const auto& lookback : *allLookbacks)
        if (lookback.lookback.at <= at && (!lookback.closedAt || *lookback.closedAt > at))
            history.openLookbacks.push_back(lookback);
    return history;
}

Result<std::vector<base::MeterId>> Reader::metersThatUsed(const std::string& id)
{
    std::vector<base::MeterId> meters;
    const QVariant value = bound(id);
    const Done done = eachRow(*m_session,
        "SELECT DISTINCT meter FROM control_run WHERE strip_vial = ? OR control_vial = ? OR operator = ? OR meter = ?"
        " OR strip_vial IN (SELECT vial FROM strip_vial WHERE lot = ?) OR control_vial IN (SELECT vial FROM control_vial WHERE lot = ?)"
        " OR meter IN (SELECT meter FROM meter WHERE model = ?)",
        { value, value, value, value, value, value, value }, [&](const Statement& row) {
            meters.emplace_back(row.text(0));
            return Done();
        });
    if (!done)
        return done.error();
    return meters;
}

} // namespace mk::store
