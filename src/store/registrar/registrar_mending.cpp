// SPDX-License-Identifier: GPL-3.0-or-later
// What an act that changes or closes an earlier entry must satisfy: corrections, annulments, confirmations.
#include "store/journal/act_keys.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::refused;
using namespace registry;

namespace {

/// Hands the named field of a run the text of a correction.
struct FieldSetter {
    std::string_view column;
    const std::string& text;
    const Zone& zone;
    bool found = false;
    std::optional<Fault> fault;

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        if (name == column)
            take(value);
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field)
    {
        if (name != column)
            return;
        if (text.empty())
            found = (value.reset(), true);
        else
            take(value.emplace());
    }

private:
    template <typename T>
    void take(T& value)
    {
        found = true;
        auto read = TextForm<T>::read(text, { &zone, nullptr });
        if (read)
            value = std::move(read).value();
        else
            fault = read.error();
    }
};

/// The text of the named field, as the journal writes it.
struct FieldGetter {
    std::string_view column;
    std::string text;

    template <typename T>
    void operator()(std::string_view name, const T& value, acts::Field)
    {
        if (name == column)
            text = TextForm<T>::write(value);
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value, acts::Field)
    {
        if (name == column && value)
            text = TextForm<T>::write(*value);
    }
};

} // namespace

template <>
Done ActBatch::check(const acts::EntryCorrected& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (a.confirmedBy) {
        if (const auto second = needPerson(*a.confirmedBy); !second)
            return second.error();
        if (*a.confirmedBy == a.by)
            return refused("a correction is confirmed by a second person, not by '" + a.by.value + "' alone");
    }
    const auto runs = m_reader.runs(a.set);
    if (!runs)
        return runs.error();
    // What stands is judged before it is changed, so that the chain shows both verdicts.
    if (!runs->empty())
        if (const Done settled = settleMeter(runs->front().run.meter); !settled)
            return settled;
    const auto newest = std::find_if(runs->rbegin(), runs->rend(), [&](const RunRecord& run) { return run.run.level == a.level; });
    if (newest == runs->rend())
        return Fault { FaultKind::NotFound,
            "set '" + a.set.value + "' has no " + std::string(word(a.level)) + " run; check set and level" };
    if (a.column == "set" || a.column == "meter" || a.column == "level")
        return refused("the column '" + a.column + "' is never corrected; annul the run and record it anew");
    FieldGetter current { a.column, {} };
    acts::ControlRun::describe(current, newest->run);
    std::string old = a.oldText;
    if (a.column == "at")
        if (const auto moment = TextForm<base::Moment>::read(old, { &m_reader.zone(), nullptr }); moment && *moment == newest->run.at)
            old = current.text;
    acts::ControlRun corrected = newest->run;
    FieldSetter setter { a.column, a.newText, m_reader.zone(), false, {} };
    acts::ControlRun::describe(setter, corrected);
    if (!setter.found)
        return badInput("a run has no column '" + a.column + "'; name one of control_runs.csv");
    if (old != current.text)
        return Fault { FaultKind::Conflict,
            "the " + a.column + " of that run is '" + current.text + "', not '" + a.oldText + "'; somebody may have corrected it before" };
    if (setter.fault)
        return *setter.fault;
    if (newest->mark && corrected.at > newest->mark->recordedAt)
        return badInput("the run was recorded at " + base::toText(newest->mark->recordedAt) + "; its own time cannot lie behind that");
    return check(corrected);
}

template <>
Done ActBatch::check(const acts::EntryAnnulled& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const std::string file = a.file_.ends_with(".csv") ? a.file_ : a.file_ + ".csv";
    if (file == "corrections.csv" || file == "annulments.csv")
        return refused("a correction or an annulment is not taken back; record another correction");
    const auto target = entryOfKey(m_session, a.file_, a.key);
    if (!target)
        return target.error();
    if (!*target)
        return Fault { FaultKind::NotFound, file + " has no record '" + a.key + "'; write its key columns joined by '/'" };
    const auto act = actOfEntry(m_session, **target);
    if (!act)
        return act.error();
    if (std::holds_alternative<acts::VialReleased>(*act))
        return refused("the release of a vial is not annulled; quarantine the vial again");
    if (const Done settled = settleMeter(base::MeterId(subjectOf(*act))); !settled)
        return settled;
    std::optional<std::int64_t> annulledBy;
    if (const Done read = eachRow(m_session, "SELECT by_seq FROM annulled WHERE seq = ?", { bound((*target)->value) },
            [&](const Statement& row) {
                annulledBy = row.number(0);
                return Done();
            });
        !read)
        return read;
    return annulledBy ? Done(Fault { FaultKind::Conflict,
               "entry " + std::to_string((*target)->value) + " was annulled by entry " + std::to_string(*annulledBy) + " already" })
                      : Done();
}

template <>
Done ActBatch::check(const acts::CorrectionConfirmed& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto act = actOfEntry(m_session, a.entry);
    const auto* correction = act ? std::get_if<acts::EntryCorrected>(&*act) : nullptr;
    if (correction == nullptr)
        return Fault { FaultKind::NotFound, "entry " + std::to_string(a.entry.value) + " is not a correction" };
    if (correction->confirmedBy)
        return Fault { FaultKind::Conflict,
            "entry " + std::to_string(a.entry.value) + " was confirmed by '" + correction->confirmedBy->value + "' already" };
    return correction->by == a.by ? Done(refused("a correction is confirmed by a second person, not by '" + a.by.value + "'")) : Done();
}

} // namespace mk::store
