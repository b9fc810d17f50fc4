// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/index/index.h"

#include "registry/meter/meter_life.h"
#include "store/db/rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/act_keys.h"
#include "store/journal/entry_act.h"

#include <algorithm>
#include <array>

namespace mk::store {

namespace {

using namespace registry;
using base::Done;
using base::Seq;

class Applier {
public:
    Applier(Session& session, Seq seq, std::int64_t recordedMs, bool imported, const MendingOf& mendingOf)
        : m_session(session),
          m_seq(seq),
          m_recordedMs(recordedMs),
          m_imported(imported),
          m_mendingOf(mendingOf)
    {
    }

    Done operator()(const acts::WardAdded& a) { return insert(m_session, WardRow { a, { m_seq } }); }
    Done operator()(const acts::ModelAdded& a) { return insert(m_session, ModelRow { a, { m_seq } }); }
    Done operator()(const acts::MeterEnrolled& a)
    {
        if (const Done done = insert(m_session, MeterRow { a, { m_seq } }); !done)
            return done;
        if (const Done done = enterState(a.meter, a.enrolled, a.state.value_or(MeterState::InService), std::nullopt); !done)
            return done;
        return enterWard(a.meter, a.enrolled, a.ward);
    }
    Done operator()(const acts::OperatorEnrolled& a) { return insert(m_session, OperatorRow { a, { m_seq } }); }
    Done operator()(const acts::StripLotReceived& a) { return insert(m_session, StripLotRow { a, { m_seq } }); }
    Done operator()(const acts::StripVialOpened& a) { return insert(m_session, StripVialRow { a, { m_seq } }); }
    Done operator()(const acts::ControlLotReceived& a) { return insert(m_session, ControlLotRow { a, { m_seq } }); }
    Done operator()(const acts::ControlVialOpened& a) { return insert(m_session, ControlVialRow { a, { m_seq } }); }
    Done operator()(const acts::RangeAssigned& a) { return insert(m_session, AssignedRangeRow { a, { m_seq } }); }
    Done operator()(const acts::ControlRun& a) { return insert(m_session, ControlRunRow { a, m_seq, { m_seq } }); }
    Done operator()(const acts::ComparisonRecorded& a)
    {
        return insert(m_session, ComparisonRow { a, std::max(a.meterAt, a.labAt), {}, { m_seq } });
    }
    Done operator()(const acts::PairJudged& a)
    {
        static const Update<ComparisonRow, ComparisonRow::Judged> sql(
            "meter = :meter AND known_at = :known_at AND pair = :pair AND to_seq IS NULL");
        return update(sql, ComparisonRow::Judged { a.outcome, a.excludedBecause, a.limits, a.policyVersion, m_seq },
            { { "meter", bound(a.meter.value) }, { "known_at", bound(a.at.utcMs) }, { "pair", bound(a.pair.value) } });
    }
    Done operator()(const acts::IncidentReported& a)
    {
        const base::Moment told = m_imported ? std::max(a.noticedAt.value_or(a.at), a.at) : recorded();
        if (const Done done = insert(m_session, IncidentRow { a, a.at, told, { m_seq } }); !done)
            return done;
        return effectOf(a.what).startsSegment ? enterBoundary(a.meter, a.at, std::string(word(a.what))) : Done();
    }
    Done operator()(const acts::ReturnStep& a) { return insert(m_session, ReturnStepRow { a, { m_seq } }); }
    Done operator()(const acts::MeterMoved& a)
    {
        const base::Moment from = m_imported ? a.at : recorded();
        const bool byStop = a.toState == MeterState::OnHold || a.toState == MeterState::Withdrawn; // its own entry follows
        if (a.toState && !byStop)
            if (const Done done = changeState(a.meter, from, *a.toState); !done)
                return done;
        return a.toWard ? enterWard(a.meter, from, *a.toWard) : Done();
    }
    Done operator()(const acts::VialEnded& a) { return insert(m_session, VialEndRow { a, { m_seq } }); }
    Done operator()(const acts::LotEvent& a) { return insert(m_session, LotEventRow { a, { m_seq } }); }
    Done operator()(const acts::EntryCorrected& a);
    Done operator()(const acts::EntryAnnulled&) { return {}; } // annul() does it
    Done operator()(const acts::CorrectionConfirmed& a)
    {
        static const Update<CorrectionRow, CorrectionRow::Confirmed> sql("from_seq = :entry");
        const auto mending = m_mendingOf(a.entry);
        if (!mending)
            return mending.error();
        const auto* correction = std::get_if<acts::EntryCorrected>(&*mending);
        if (correction != nullptr && correction->waits == YesNo::Yes)
            if (const Done done = mend(*correction, a.entry); !done)
                return done;
        return update(sql, CorrectionRow::Confirmed { a.by, m_seq }, { { "entry", bound(a.entry.value) } });
    }
    Done operator()(const acts::LookbackClosed& a)
    {
        static const Update<LookbackRow, LookbackRow::End> sql("from_seq = :entry");
        return update(sql, LookbackRow::End { m_imported ? a.at : recorded(), m_seq, a.decision }, { { "entry", bound(a.entry.value) } });
    }
    Done operator()(const acts::LookbackReopened& a)
    {
        static const Update<LookbackRow, LookbackRow::End> sql("from_seq = :entry");
        return update(sql, LookbackRow::End {}, { { "entry", bound(a.entry.value) } });
    }
    Done operator()(const acts::NoteAdded& a) { return insert(m_session, NoteRow { a, m_seq }); }
    Done operator()(const acts::RegistryFounded&) { return {}; }
    Done operator()(const acts::ClockNoticed& a) { return insert(m_session, ClockNoticeRow { m_seq, a.direction, a.now }); }
    Done operator()(const acts::PolicyChanged& a) { return insert(m_session, PolicyRow { a.version, a.from, m_seq }); }
    Done operator()(const acts::SetJudged& a);
    Done operator()(const acts::MeterStopped& a)
    {
        if (const Done done = insert(m_session, MeterStopRow { a, m_seq, {} }); !done)
            return done;
        return changeState(a.meter, a.at, a.withdrawn ? MeterState::Withdrawn : MeterState::OnHold);
    }
    Done operator()(const acts::MeterReturned& a)
    {
        static const Update<MeterStopRow, MeterStopRow::End> sql("meter = :meter AND from_seq = :entry");
        for (const Seq stop : a.ends)
            if (const Done done = update(
                    sql, MeterStopRow::End { a.at, m_seq }, { { "meter", bound(a.meter.value) }, { "entry", bound(stop.value) } });
                !done)
                return done;
        return changeState(a.meter, a.at, a.toState);
    }
    Done operator()(const acts::LookbackOpened& a) { return insert(m_session, LookbackRow { a, m_seq, {} }); }
    Done operator()(const acts::VialReleased& a)
    {
        static const Close<VialEndRow> sql("vial = :vial");
        return close(sql, { { "vial", bound(a.vial) } });
    }
    /// The rest has no table of its own: Reader::facts reads it from the journal.
    template <typename A>
    Done operator()(const A&)
    {
        return {};
    }

private:
    Done mend(const acts::EntryCorrected& a, Seq entry);
    base::Moment recorded() const { return { m_recordedMs, 0 }; }

    /// which  the values of the condition
    template <typename R, typename Part>
    Done update(const Update<R, Part>& sql, const Part& part, const Values& which)
    {
        Values values = valuesOf(part);
        values.insert(values.end(), which.begin(), which.end());
        return execute(m_session, sql, values);
    }
    template <typename R>
    Done close(const Close<R>& sql, Values which)
    {
        which.push_back({ "by", bound(m_seq.value) });
        return execute(m_session, sql, which);
    }

    base::Result<std::optional<MeterState>> stateAt(const base::MeterId& meter, base::Moment at)
    {
        static const Select<MeterStateRow> sql(
            "WHERE meter = :meter AND from_at <= :at AND to_seq IS NULL ORDER BY from_at DESC, from_seq DESC LIMIT 1");
        const auto rows = readRows(m_session, sql, { { "meter", bound(meter.value) }, { "at", bound(at.utcMs) } }, registry::Zone::utc());
        if (!rows)
            return rows.error();
        return rows->empty() ? std::nullopt : std::optional(rows->front().state);
    }

    /// A spell begins, unless the meter is in that state already.
    Done changeState(const base::MeterId& meter, base::Moment from, MeterState to)
    {
        const auto before = stateAt(meter, from);
        if (!before)
            return before.error();
        if (*before == to)
            return {};
        if (const Done done = enterState(meter, from, to, *before); !done)
            return done;
        const bool back = to == MeterState::InService && (*before == MeterState::Withdrawn || *before == MeterState::Acceptance);
        return back ? enterBoundary(meter, from, std::string(kReturned)) : Done();
    }

    Done enterState(const base::MeterId& meter, base::Moment from, MeterState state, const std::optional<MeterState>& before)
    {
        return insert(m_session, MeterStateRow { meter, from, state, before, { m_seq } });
    }
    Done enterWard(const base::MeterId& meter, base::Moment from, const base::WardId& ward)
    {
        return insert(m_session, MeterWardRow { meter, from, ward, { m_seq } });
    }
    Done enterBoundary(const base::MeterId& meter, base::Moment at, const std::string& what)
    {
        return insert(m_session, SegmentBoundaryRow { meter, at, what, { m_seq } });
    }

    Session& m_session;
    Seq m_seq;
    std::int64_t m_recordedMs;
    bool m_imported;
    const MendingOf& m_mendingOf;
};

Done Applier::operator()(const acts::SetJudged& a)
{
    static const Close<SetVerdictRow> ofSet("set_id = :set_id");
    static const Close<RunVerdictRow> ofRuns("set_id = :set_id");
    if (const Done done = close(ofSet, { { "set_id", bound(a.set.value) } }); !done)
        return done;
    if (const Done done = close(ofRuns, { { "set_id", bound(a.set.value) } }); !done)
        return done;
    if (a.runs.empty()) // every run of the set was annulled: there is no set any more
        return {};
    if (const Done done = insert(m_session, SetVerdictRow { a, a.firstAt, a.lastAt, a.drift.counted, { m_seq } }); !done)
        return done;
    for (const auto& run : a.runs)
        if (const Done done = insert(m_session, RunVerdictRow { a.set, run, { m_seq } }); !done)
            return done;
    return {};
}

/// Columns of the run's table that a correction may name.
constexpr std::string_view kCorrectable[] = { "at", "operator", "strip_vial", "control_vial", "result", "unit", "reason", "repeat_of",
    "comment", "code_shown" };

/// INSERT of the next version of a run: the columns of the one before, but for one that has the text that was typed.
std::string nextVersionSql(std::string_view replaced)
{
    std::string values;
    for (const auto& column : columnsOf<ControlRunRow>()) {
        values += values.empty() ? "" : ", ";
        values += column == replaced ? ":typed" : column == "from_seq" ? ":by" : column == "to_seq" ? "NULL" : column;
    }
    return "INSERT INTO control_run (" + columnList(columnsOf<ControlRunRow>()) + ") SELECT " + values
        + " FROM control_run WHERE set_id = :set_id AND run_seq = :run_seq AND from_seq = :version";
}

/// The statement for a column; null where no correction may name it.
const Sql* nextVersion(std::string_view replaced)
{
    static const auto statements = [] {
        std::array<std::unique_ptr<const Sql>, std::size(kCorrectable)> all;
        std::ranges::transform(kCorrectable, all.begin(), [](std::string_view column) {
            return std::make_unique<const Sql>(
                writesOf<ControlRunRow>(), std::initializer_list<std::string_view> { ControlRunRow::table }, nextVersionSql(column));
        });
        return all;
    }();
    const auto found = std::ranges::find(kCorrectable, replaced);
    return found == std::end(kCorrectable) ? nullptr : statements[static_cast<std::size_t>(found - kCorrectable)].get();
}

Done Applier::operator()(const acts::EntryCorrected& a)
{
    if (const Done done = insert(m_session, CorrectionRow { a, m_seq, { a.confirmedBy, {} } }); !done)
        return done;
    return a.waits == YesNo::Yes ? Done() : mend(a, m_seq);
}

/// The run's next version, from this entry on. It speaks of the newest attempt that there was when it was entered.
/// entry  the correction's own
Done Applier::mend(const acts::EntryCorrected& a, Seq entry)
{
    static const Sql newest({ ControlRunRow::table },
        "SELECT run_seq, from_seq FROM control_run WHERE set_id = :set_id AND level = :level AND to_seq IS NULL AND run_seq < :entry"
        " ORDER BY run_seq DESC LIMIT 1");
    const Values named { { "set_id", bound(a.set.value) }, { "level", ColumnForm<Level>::write(a.level) },
        { "entry", bound(entry.value) } };
    std::optional<std::pair<std::int64_t, std::int64_t>> run;
    const Done read = eachRow(m_session, newest, named, [&](const Statement& row) {
        run.emplace(row.number("run_seq"), row.number("from_seq"));
        return Done();
    });
    if (!read)
        return read;
    const Sql* copy = nextVersion(a.column);
    if (!run || copy == nullptr)
        return base::fault(base::FaultKind::Damaged, "entry %1 corrects a run that is not there", m_seq.value);
    const Values version { { "set_id", bound(a.set.value) }, { "run_seq", bound(run->first) }, { "version", bound(run->second) } };
    Values next = version;
    next.push_back({ "typed", a.newText.empty() ? QVariant() : bound(a.newText) });
    next.push_back({ "by", bound(m_seq.value) });
    if (const Done done = execute(m_session, *copy, next); !done)
        return done;
    static const Close<ControlRunRow> former("set_id = :set_id AND run_seq = :run_seq AND from_seq = :version");
    return close(former, version);
}

/// The set that a run's key names, in whichever way it may be written: SET/level/attempt or SET/level. Nothing where its times are written
/// otherwise.
base::Result<std::optional<std::string>> setOfRun(Session& session, const std::string& key, Seq run)
{
    static const Sql ofSet(
        { ControlRunRow::table }, "SELECT set_id FROM control_run WHERE set_id = :set_id AND run_seq = :run_seq LIMIT 1");
    std::optional<std::string> found;
    std::string set = key;
    for (int part = 0; part < 2 && !found && set.find('/') != std::string::npos; ++part) {
        set.erase(set.rfind('/'));
        const Done read = eachRow(session, ofSet, { { "set_id", bound(set) }, { "run_seq", bound(run.value) } }, [&](const Statement&) {
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
    static const Close<ControlRunRow> ofSet("set_id = :set_id AND run_seq = :run_seq"); // by the table's key
    static const Close<ControlRunRow> ofAll("run_seq = :run_seq");
    Values values { { "by", bound(by.value) }, { "run_seq", bound(run.value) } };
    if (*set)
        values.push_back({ "set_id", bound(**set) });
    return execute(session, *set ? static_cast<const Sql&>(ofSet) : ofAll, values);
}

/// Takes back every index row that an entry made: closed from now on, still there for earlier views.
Done closeRowsOf(Session& session, Seq by, Seq entry)
{
    Done done;
    forEachRowType<RowsThatAnnulmentCloses>([&]<typename R>() {
        static const Close<R> sql("from_seq = :entry");
        if (done)
            done = execute(session, sql, { { "by", bound(by.value) }, { "entry", bound(entry.value) } });
    });
    return done;
}

Done annul(Session& session, Seq by, const acts::EntryAnnulled& act)
{
    const auto target = entryOfKey(session, act.file_, act.key);
    if (!target)
        return target.error();
    if (!*target)
        return base::fault(base::FaultKind::Damaged, "entry %1 annuls %2 '%3', which is not there", by.value, act.file_, act.key);
    if (const Done done = closeRowsOf(session, by, **target); !done)
        return done;
    if (const Done done = closeRun(session, by, act.key, **target); !done)
        return done;
    return insert(session, AnnulledRow { **target, by });
}

} // namespace

Done applyToIndex(Session& session, Seq seq, std::int64_t recordedMs, bool imported, const Act& act, const MendingOf& mendingOf)
{
    if (const Done done = enterKey(session, seq, act); !done)
        return done;
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&act))
        return annulment->waits == YesNo::Yes ? Done() : annul(session, seq, *annulment);
    if (const auto* confirmation = std::get_if<acts::CorrectionConfirmed>(&act)) {
        const auto mending = mendingOf(confirmation->entry);
        if (!mending)
            return mending.error();
        if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&*mending))
            return annulment->waits == YesNo::Yes ? annul(session, seq, *annulment) : Done();
    }
    Applier applier(session, seq, recordedMs, imported, mendingOf);
    return std::visit(applier, act);
}

Done applyToIndex(Session& session, Seq seq, std::int64_t recordedMs, bool imported, const Act& act)
{
    return applyToIndex(session, seq, recordedMs, imported, act, [&session](Seq entry) { return actOfEntry(session, entry); });
}

std::span<const IndexTable> indexTables()
{
    static const std::vector<IndexTable> tables = [] {
        std::vector<IndexTable> all;
        forEachRowType<IndexRows>([&]<typename R>() {
            static const Select<R> everything("ORDER BY " + std::string(R::order));
            all.push_back({ R::table.data(), &everything });
        });
        return all;
    }();
    return tables;
}

} // namespace mk::store
