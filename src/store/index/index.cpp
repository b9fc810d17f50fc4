// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/index/index.h"

#include "registry/meter/meter_life.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

namespace {

using namespace registry;
using base::Done;
using base::Seq;

/// Binds the fields of a described act in the order of its description: the order of the columns in its INSERT.
struct FieldBinder {
    QVariantList values;

    template <typename T>
    void operator()(std::string_view, const T& value, acts::Field)
    {
        values << bound(TextForm<T>::write(value));
    }
    template <typename T>
    void operator()(std::string_view, const std::optional<T>& value, acts::Field)
    {
        values << (value ? bound(TextForm<T>::write(*value)) : QVariant());
    }
};

template <typename A>
QVariantList fieldsOf(const A& act)
{
    FieldBinder binder;
    A::describe(binder, act);
    return std::move(binder.values);
}

template <typename E>
QVariant wordOf(E value)
{
    return bound(std::string(word(value)));
}
template <typename T>
QVariant textOf(const std::optional<T>& value)
{
    return value ? bound(TextForm<T>::write(*value)) : QVariant();
}
std::string joined(const std::vector<std::string>& words)
{
    std::string text;
    for (const auto& each : words)
        text += (text.empty() ? "" : "\n") + each;
    return text;
}

class Applier {
public:
    Applier(Session& session, Seq seq, std::int64_t recordedMs, bool imported)
        : m_session(session),
          m_seq(seq),
          m_recordedMs(recordedMs),
          m_imported(imported)
    {
    }

    Done operator()(const acts::WardAdded& a) { return insert("INSERT INTO ward (ward, name, from_seq) VALUES (?, ?, ?)", a); }
    Done operator()(const acts::ModelAdded& a)
    {
        return insert(
            "INSERT INTO model (model, unit, low, high, haematocrit_low, haematocrit_high, needs_code, shared_use, market_approval, from_seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            a);
    }
    Done operator()(const acts::MeterEnrolled& a)
    {
        if (const Done done = insert(
                "INSERT INTO meter (meter, model, serial, ward, enrolled, state, from_seq) VALUES (?, ?, ?, ?, ?, ?, ?)", a);
            !done)
            return done;
        if (const Done done = enterState(a.meter, a.enrolled.utcMs, a.state.value_or(MeterState::InService), std::nullopt); !done)
            return done;
        return enterWard(a.meter, a.enrolled.utcMs, a.ward);
    }
    Done operator()(const acts::OperatorEnrolled& a)
    {
        return insert(
            "INSERT INTO operator (operator, name, role, competent_from, competent_until, from_seq) VALUES (?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::StripLotReceived& a)
    {
        return insert(
            "INSERT INTO strip_lot (lot, model, gtin, code, expiry, open_period, received, released, from_seq) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            a);
    }
    Done operator()(const acts::StripVialOpened& a)
    {
        return insert("INSERT INTO strip_vial (vial, lot, opened, ward, found_open, from_seq) VALUES (?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::ControlLotReceived& a)
    {
        return insert("INSERT INTO control_lot (lot, level, expiry, open_period, received, from_seq) VALUES (?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::ControlVialOpened& a)
    {
        return insert("INSERT INTO control_vial (vial, lot, opened, ward, found_open, from_seq) VALUES (?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::RangeAssigned& a)
    {
        QVariantList values = fieldsOf(a);
        values.removeLast(); // the reason stays in the journal
        values << bound(m_seq.value);
        return m_session.execute(
            "INSERT INTO assigned_range (strip_lot, control_lot, level, unit, low, high, mean, sd, stage, from_at, meter, from_seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            values);
    }
    Done operator()(const acts::ControlRun& a) { return insertRun(a, m_seq); }
    Done operator()(const acts::ComparisonRecorded& a)
    {
        QVariantList values { bound(std::max(a.meterAt, a.labAt).utcMs) };
        values += fieldsOf(a);
        values << bound(m_seq.value);
        return m_session.execute(
            "INSERT INTO comparison (known_at, pair, meter, meter_at, lab_at, operator, strip_vial, sample, sample_type, meter_result,"
            " lab_result, unit, haematocrit, round, lab_sample_type, tube, method, fasting, drawn_at, separated_at, from_seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            values);
    }
    Done operator()(const acts::PairJudged& a)
    {
        return m_session.execute("UPDATE comparison SET outcome = ?, excluded_because = ?, limits = ?, policy = ?, judged_seq = ?"
                                 " WHERE meter = ? AND known_at = ? AND pair = ? AND to_seq IS NULL",
            { wordOf(a.outcome), bound(joined(a.excludedBecause)), bound(a.limits), bound(a.policyVersion), bound(m_seq.value),
                bound(a.meter.value), bound(a.at.utcMs), bound(a.pair.value) });
    }
    Done operator()(const acts::IncidentReported& a)
    {
        const std::int64_t told = m_imported ? std::max(a.noticedAt.value_or(a.at), a.at).utcMs : m_recordedMs;
        QVariantList values { bound(a.at.utcMs), bound(told) };
        values += fieldsOf(a);
        values << bound(m_seq.value);
        if (const Done done = m_session.execute(
                "INSERT INTO incident (happened_at, told_at, at, noticed_at, meter, operator, kind, detail, agent,"
                " contact_time_kept, used, from_seq) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                values);
            !done)
            return done;
        return effectOf(a.what).startsSegment ? enterBoundary(a.meter, a.at.utcMs, std::string(word(a.what))) : Done();
    }
    Done operator()(const acts::ReturnStep& a)
    {
        return insert("INSERT INTO return_step (at, meter, operator, step, detail, from_seq) VALUES (?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::MeterMoved& a)
    {
        const std::int64_t from = m_imported ? a.at.utcMs : m_recordedMs;
        const bool byStop = a.toState == MeterState::OnHold || a.toState == MeterState::Withdrawn; // its own entry follows
        if (a.toState && !byStop)
            if (const Done done = changeState(a.meter, from, *a.toState); !done)
                return done;
        return a.toWard ? enterWard(a.meter, from, *a.toWard) : Done();
    }
    Done operator()(const acts::VialEnded& a)
    {
        return insert("INSERT INTO vial_end (at, vial, operator, how, from_seq) VALUES (?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::LotEvent& a)
    {
        return insert("INSERT INTO lot_event (at, lot, operator, kind, detail, no_samples, from_seq) VALUES (?, ?, ?, ?, ?, ?, ?)", a);
    }
    Done operator()(const acts::EntryCorrected& a);
    Done operator()(const acts::EntryAnnulled&) { return {}; } // annul() does it
    Done operator()(const acts::CorrectionConfirmed& a)
    {
        return m_session.execute("UPDATE correction SET confirmed_by = ?, confirmed_seq = ? WHERE from_seq = ?",
            { bound(a.by.value), bound(m_seq.value), bound(a.entry.value) });
    }
    Done operator()(const acts::LookbackClosed& a)
    {
        return m_session.execute("UPDATE lookback SET closed_at = ?, closed_seq = ?, decision = ? WHERE from_seq = ?",
            { bound(m_imported ? a.at.utcMs : m_recordedMs), bound(m_seq.value), bound(a.decision), bound(a.entry.value) });
    }
    Done operator()(const acts::NoteAdded& a)
    {
        return m_session.execute("INSERT INTO note (meter, from_seq, at, operator, text) VALUES (?, ?, ?, ?, ?)",
            { bound(a.meter.value), bound(m_seq.value), bound(base::toText(a.at)), bound(a.by.value), bound(a.text) });
    }
    Done operator()(const acts::RegistryFounded&) { return {}; }
    Done operator()(const acts::ClockNoticed& a)
    {
        return m_session.execute("INSERT INTO clock_notice (seq, direction, now_at) VALUES (?, ?, ?)",
            { bound(m_seq.value), bound(a.direction), bound(a.now.utcMs) });
    }
    Done operator()(const acts::PolicyChanged& a)
    {
        return m_session.execute("INSERT INTO policy (version, from_at, from_seq) VALUES (?, ?, ?)",
            { bound(a.version), a.from ? bound(a.from->utcMs) : QVariant(), bound(m_seq.value) });
    }
    Done operator()(const acts::SetJudged& a);
    Done operator()(const acts::MeterStopped& a)
    {
        if (const Done done = m_session.execute(
                "INSERT INTO meter_stop (meter, from_at, from_seq, withdrawn, cause, because, needs_signature, by_policy)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                { bound(a.meter.value), bound(a.at.utcMs), bound(m_seq.value), bound(std::int64_t { a.withdrawn }), bound(a.cause),
                    bound(a.because.value), bound(std::int64_t { a.needsSignature }), bound(a.by) });
            !done)
            return done;
        return changeState(a.meter, a.at.utcMs, a.withdrawn ? MeterState::Withdrawn : MeterState::OnHold);
    }
    Done operator()(const acts::MeterReturned& a)
    {
        for (const Seq stop : a.ends)
            if (const Done done = m_session.execute("UPDATE meter_stop SET ended_at = ?, ended_seq = ? WHERE meter = ? AND from_seq = ?",
                    { bound(a.at.utcMs), bound(m_seq.value), bound(a.meter.value), bound(stop.value) });
                !done)
                return done;
        return changeState(a.meter, a.at.utcMs, a.toState);
    }
    Done operator()(const acts::LookbackOpened& a)
    {
        return m_session.execute(
            "INSERT INTO lookback (meter, from_seq, opened_at, interval_from, interval_to, cause, because, alternative_from, used_until,"
            " scope, direction) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            { bound(a.meter.value), bound(m_seq.value), bound(a.at.utcMs), bound(a.from.utcMs), bound(a.to.utcMs), bound(a.cause),
                bound(a.because.value), a.alternativeFrom ? bound(a.alternativeFrom->utcMs) : QVariant(),
                a.usedUntil ? bound(a.usedUntil->utcMs) : QVariant(), textOf(a.scope), textOf(a.direction) });
    }
    Done operator()(const acts::VialReleased& a)
    {
        return m_session.execute("UPDATE vial_end SET to_seq = ? WHERE vial = ? AND to_seq IS NULL", { bound(m_seq.value), bound(a.vial) });
    }
    /// The rest has no table of its own: Reader::facts reads it from the journal.
    template <typename A>
    Done operator()(const A&)
    {
        return {};
    }

private:
    template <typename A>
    Done insert(const char* sql, const A& act)
    {
        QVariantList values = fieldsOf(act);
        values << bound(m_seq.value);
        return m_session.execute(sql, values);
    }

    Done insertRun(const acts::ControlRun& run, Seq firstSeq)
    {
        QVariantList values = fieldsOf(run);
        values << bound(firstSeq.value) << bound(m_seq.value);
        return m_session.execute(
            "INSERT INTO control_run (set_id, at, meter, operator, strip_vial, level, control_vial, result, unit, reason, repeat_of,"
            " comment, code_shown, supervisor, deviation, late_reason, form, question, answer, run_seq, from_seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            values);
    }

    base::Result<std::optional<std::string>> stateAt(const base::MeterId& meter, std::int64_t at)
    {
        auto query = m_session.statement(
            "SELECT state FROM meter_state WHERE meter = ? AND from_at <= ? AND to_seq IS NULL ORDER BY from_at DESC, from_seq DESC LIMIT 1");
        if (!query)
            return query.error();
        if (const Done ran = query->run({ bound(meter.value), bound(at) }); !ran)
            return ran.error();
        const auto state = query->next() ? std::optional(query->text(0)) : std::nullopt;
        if (const Done done = query->finished(); !done)
            return done.error();
        return state;
    }

    /// A spell begins, unless the meter is in that state already.
    Done changeState(const base::MeterId& meter, std::int64_t from, MeterState to)
    {
        const auto before = stateAt(meter, from);
        if (!before)
            return before.error();
        if (*before == std::string(word(to)))
            return {};
        if (const Done done = enterState(meter, from, to, *before); !done)
            return done;
        const bool back = to == MeterState::InService
            && (*before == word(MeterState::Withdrawn) || *before == word(MeterState::Acceptance));
        return back ? enterBoundary(meter, from, "returned") : Done();
    }

    Done enterState(const base::MeterId& meter, std::int64_t from, MeterState state, const std::optional<std::string>& before)
    {
        return m_session.execute("INSERT INTO meter_state (meter, from_at, state, before, from_seq) VALUES (?, ?, ?, ?, ?)",
            { bound(meter.value), bound(from), wordOf(state), bound(before), bound(m_seq.value) });
    }
    Done enterWard(const base::MeterId& meter, std::int64_t from, const base::WardId& ward)
    {
        return m_session.execute("INSERT INTO meter_ward (meter, from_at, ward, from_seq) VALUES (?, ?, ?, ?)",
            { bound(meter.value), bound(from), bound(ward.value), bound(m_seq.value) });
    }
    Done enterBoundary(const base::MeterId& meter, std::int64_t at, const std::string& what)
    {
        return m_session.execute("INSERT INTO segment_boundary (meter, at, what, from_seq) VALUES (?, ?, ?, ?)",
            { bound(meter.value), bound(at), bound(what), bound(m_seq.value) });
    }

    Session& m_session;
    Seq m_seq;
    std::int64_t m_recordedMs;
    bool m_imported;
};

Done Applier::operator()(const acts::SetJudged& a)
{
    if (const Done done = m_session.execute(
            "UPDATE set_verdict SET to_seq = ? WHERE set_id = ? AND to_seq IS NULL", { bound(m_seq.value), bound(a.set.value) });
        !done)
        return done;
    if (const Done done = m_session.execute(
            "UPDATE run_verdict SET to_seq = ? WHERE set_id = ? AND to_seq IS NULL", { bound(m_seq.value), bound(a.set.value) });
        !done)
        return done;
    if (a.runs.empty()) // every run of the set was annulled: there is no set any more
        return {};
    if (const Done done = m_session.execute(
            "INSERT INTO set_verdict (meter, last_at, set_id, from_seq, first_at, first_text, last_text, ward, attempt, verdict, rules,"
            " shift, segment_start, counted, drift, policy, rule_set, old_verdict, because)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            { bound(a.meter.value), bound(a.lastAt.utcMs), bound(a.set.value), bound(m_seq.value), bound(a.firstAt.utcMs),
                bound(base::toText(a.firstAt)), bound(base::toText(a.lastAt)), bound(a.ward.value), bound(std::int64_t { a.attempt }),
                wordOf(a.verdict), bound(joined(a.rules)), bound(std::int64_t { a.shift }), bound(std::int64_t { a.segmentStart }),
                bound(std::int64_t { a.drift.counted }), bound(driftText(a.drift)), bound(a.policyVersion), bound(a.ruleSet),
                textOf(a.oldVerdict), a.because ? bound(a.because->value) : QVariant() });
        !done)
        return done;
    for (const auto& run : a.runs) {
        const Done done = m_session.execute(
            "INSERT INTO run_verdict (set_id, run_seq, from_seq, level, attempt, valid, invalid_because, low, high, mean, sd, stage,"
            " in_range, z, evaluable, counted, rules, strip_lot, control_lot, verdict)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            { bound(a.set.value), bound(run.run.value), bound(m_seq.value), wordOf(run.level), bound(std::int64_t { run.attempt }),
                bound(std::int64_t { run.valid }), bound(joined(run.invalidBecause)), textOf(run.low), textOf(run.high), textOf(run.mean),
                textOf(run.sd), textOf(run.stage), run.inRange ? bound(std::int64_t { *run.inRange }) : QVariant(),
                run.z ? QVariant(*run.z) : QVariant(), bound(std::int64_t { run.evaluable }), bound(std::int64_t { run.counted }),
                bound(joined(run.rules)), bound(run.stripLot.value), bound(run.controlLot.value), wordOf(run.verdict) });
        if (!done)
            return done;
    }
    return {};
}

/// Column of the run's table that a correction may name, with the statement that copies the newest version with it replaced.
struct CorrectableColumn {
    std::string_view column;
    const char* copySql;
};
#define MK_COPY_RUN(AT, METER, OPERATOR, STRIP_VIAL, CONTROL_VIAL, RESULT, UNIT, REASON, REPEAT_OF, COMMENT, CODE_SHOWN)                           \
    "INSERT INTO control_run (set_id, at, meter, operator, strip_vial, level, control_vial, result, unit, reason, repeat_of, comment, code_shown," \
    " supervisor, deviation, late_reason, form, question, answer, run_seq, from_seq) SELECT set_id, " AT ", " METER ", " OPERATOR                  \
    ", " STRIP_VIAL ", level, " CONTROL_VIAL ", " RESULT ", " UNIT ", " REASON ", " REPEAT_OF ", " COMMENT ", " CODE_SHOWN                         \
    ", supervisor, deviation, late_reason, form, question, answer, run_seq, ? FROM control_run WHERE set_id = ? AND run_seq = ? AND from_seq = ?"
constexpr CorrectableColumn kCorrectable[] = {
    { "at",
        MK_COPY_RUN(
            "?", "meter", "operator", "strip_vial", "control_vial", "result", "unit", "reason", "repeat_of", "comment", "code_shown") },
    { "operator",
        MK_COPY_RUN("at", "meter", "?", "strip_vial", "control_vial", "result", "unit", "reason", "repeat_of", "comment", "code_shown") },
    { "strip_vial",
        MK_COPY_RUN("at", "meter", "operator", "?", "control_vial", "result", "unit", "reason", "repeat_of", "comment", "code_shown") },
    { "control_vial",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "?", "result", "unit", "reason", "repeat_of", "comment", "code_shown") },
    { "result",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "control_vial", "?", "unit", "reason", "repeat_of", "comment", "code_shown") },
    { "unit",
        MK_COPY_RUN(
            "at", "meter", "operator", "strip_vial", "control_vial", "result", "?", "reason", "repeat_of", "comment", "code_shown") },
    { "reason",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "control_vial", "result", "unit", "?", "repeat_of", "comment", "code_shown") },
    { "repeat_of",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "control_vial", "result", "unit", "reason", "?", "comment", "code_shown") },
    { "comment",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "control_vial", "result", "unit", "reason", "repeat_of", "?", "code_shown") },
    { "code_shown",
        MK_COPY_RUN("at", "meter", "operator", "strip_vial", "control_vial", "result", "unit", "reason", "repeat_of", "comment", "?") },
};
#undef MK_COPY_RUN

Done Applier::operator()(const acts::EntryCorrected& a)
{
    if (const Done done = m_session.execute(
            "INSERT INTO correction (set_id, level, from_seq, at, operator, column_name, old, new, reason, confirmed_by)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            { bound(a.set.value), wordOf(a.level), bound(m_seq.value), bound(base::toText(a.at)), bound(a.by.value), bound(a.column),
                bound(a.oldText), bound(a.newText), bound(a.reason), textOf(a.confirmedBy) });
        !done)
        return done;
    auto query = m_session.statement(
        "SELECT run_seq, from_seq FROM control_run WHERE set_id = ? AND level = ? AND to_seq IS NULL ORDER BY run_seq DESC LIMIT 1");
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(a.set.value), wordOf(a.level) }); !ran)
        return ran;
    const bool found = query->next();
    const std::int64_t runSeq = found ? query->number(0) : 0;
    const std::int64_t version = found ? query->number(1) : 0;
    if (const Done done = query->finished(); !done)
        return done;
    const auto column = std::ranges::find(kCorrectable, a.column, &CorrectableColumn::column);
    if (!found || column == std::end(kCorrectable))
        return base::Fault { base::FaultKind::Damaged, "entry " + std::to_string(m_seq.value) + " corrects a run that is not there" };
    const QVariant newText = a.newText.empty() ? QVariant() : bound(a.newText);
    if (const Done done = m_session.execute(
            column->copySql, { newText, bound(m_seq.value), bound(a.set.value), bound(runSeq), bound(version) });
        !done)
        return done;
    return m_session.execute("UPDATE control_run SET to_seq = ? WHERE set_id = ? AND run_seq = ? AND from_seq = ?",
        { bound(m_seq.value), bound(a.set.value), bound(runSeq), bound(version) });
}

constexpr IndexTable kTables[] = {
    { "act_key", "SELECT * FROM act_key ORDER BY file, key, from_seq" },
    { "policy", "SELECT * FROM policy ORDER BY version" },
    { "ward", "SELECT * FROM ward ORDER BY ward, from_seq" },
    { "model", "SELECT * FROM model ORDER BY model, from_seq" },
    { "meter", "SELECT * FROM meter ORDER BY meter, from_seq" },
    { "operator", "SELECT * FROM operator ORDER BY operator, from_seq" },
    { "strip_lot", "SELECT * FROM strip_lot ORDER BY lot, from_seq" },
    { "strip_vial", "SELECT * FROM strip_vial ORDER BY vial, from_seq" },
    { "control_lot", "SELECT * FROM control_lot ORDER BY lot, from_seq" },
    { "control_vial", "SELECT * FROM control_vial ORDER BY vial, from_seq" },
    { "assigned_range", "SELECT * FROM assigned_range ORDER BY strip_lot, control_lot, level, from_seq" },
    { "vial_end", "SELECT * FROM vial_end ORDER BY vial, from_seq" },
    { "lot_event", "SELECT * FROM lot_event ORDER BY lot, from_seq" },
    { "incident", "SELECT * FROM incident ORDER BY meter, happened_at, from_seq" },
    { "return_step", "SELECT * FROM return_step ORDER BY meter, from_seq" },
    { "meter_state", "SELECT * FROM meter_state ORDER BY meter, from_at, from_seq" },
    { "meter_ward", "SELECT * FROM meter_ward ORDER BY meter, from_at, from_seq" },
    { "meter_stop", "SELECT * FROM meter_stop ORDER BY meter, from_seq" },
    { "segment_boundary", "SELECT * FROM segment_boundary ORDER BY meter, at, from_seq" },
    { "control_run", "SELECT * FROM control_run ORDER BY set_id, run_seq, from_seq" },
    { "run_verdict", "SELECT * FROM run_verdict ORDER BY set_id, run_seq, from_seq" },
    { "set_verdict", "SELECT * FROM set_verdict ORDER BY meter, last_at, set_id, from_seq" },
    { "comparison", "SELECT * FROM comparison ORDER BY meter, known_at, pair, from_seq" },
    { "lookback", "SELECT * FROM lookback ORDER BY meter, from_seq" },
    { "correction", "SELECT * FROM correction ORDER BY set_id, from_seq" },
    { "note", "SELECT * FROM note ORDER BY meter, from_seq" },
    { "clock_notice", "SELECT * FROM clock_notice ORDER BY seq" },
    { "annulled", "SELECT * FROM annulled ORDER BY seq" },
};

/// Takes back every index row that an entry made: closed from now on, still there for earlier views.
constexpr const char* kCloseRows[] = {
    "UPDATE ward SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE model SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE meter SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE operator SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE strip_lot SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE strip_vial SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE control_lot SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE control_vial SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE assigned_range SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE vial_end SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE lot_event SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE incident SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE return_step SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE meter_state SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE meter_ward SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE segment_boundary SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
    "UPDATE comparison SET to_seq = ? WHERE from_seq = ? AND to_seq IS NULL",
};

/// The set that a run's key names, in whichever way it may be written: SET/level/attempt or SET/level. Nothing where its times are written
/// otherwise.
base::Result<std::optional<std::string>> setOfRun(Session& session, const std::string& key, Seq run)
{
    std::optional<std::string> found;
    std::string set = key;
    for (int part = 0; part < 2 && !found && set.find('/') != std::string::npos; ++part) {
        set.erase(set.rfind('/'));
        const Done read = eachRow(session, "SELECT 1 FROM control_run WHERE set_id = ? AND run_seq = ? LIMIT 1",
            { bound(set), bound(run.value) }, [&](const Statement&) {
                found = set;
                return Done();
            });
        if (!read)
            return read.error();
    }
    return found;
}

Done closeRun(Session& session, Seq by, const std::string& key, Seq run)
{
    const auto set = setOfRun(session, key, run);
    if (!set)
        return set.error();
    if (*set) // by the table's key, which begins with the set
        return session.execute("UPDATE control_run SET to_seq = ? WHERE set_id = ? AND run_seq = ? AND to_seq IS NULL",
            { bound(by.value), bound(**set), bound(run.value) });
    return session.execute("UPDATE control_run SET to_seq = ? WHERE run_seq = ? AND to_seq IS NULL", { bound(by.value), bound(run.value) });
}

Done annul(Session& session, Seq by, const acts::EntryAnnulled& act)
{
    const auto target = entryOfKey(session, act.file_, act.key);
    if (!target)
        return target.error();
    if (!*target)
        return base::Fault { base::FaultKind::Damaged,
            "entry " + std::to_string(by.value) + " annuls " + act.file_ + " '" + act.key + "', which is not there" };
    for (const char* sql : kCloseRows)
        if (const Done done = session.execute(sql, { bound(by.value), bound((*target)->value) }); !done)
            return done;
    if (const Done done = closeRun(session, by, act.key, **target); !done)
        return done;
    return session.execute("INSERT INTO annulled (seq, by_seq) VALUES (?, ?)", { bound((*target)->value), bound(by.value) });
}

} // namespace

Done applyToIndex(Session& session, Seq seq, std::int64_t recordedMs, bool imported, const Act& act)
{
    if (const Done done = enterKey(session, seq, act); !done)
        return done;
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&act))
        return annul(session, seq, *annulment);
    Applier applier(session, seq, recordedMs, imported);
    return std::visit(applier, act);
}

std::span<const IndexTable> indexTables()
{
    return kTables;
}

} // namespace mk::store
