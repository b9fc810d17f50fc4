// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/mending.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/runs.h"
#include "registry/desk/refusal.h"
#include "registry/desk/stops.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

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

/// The run that a correction speaks of; the newest of its level.
Result<RunRecord> correctedRun(const Desk& desk, const acts::EntryCorrected& a)
{
    const auto runs = desk.facts.runs(a.set);
    if (!runs)
        return runs.error();
    // What stands is judged before it is changed, so that the chain shows both verdicts.
    if (!runs->empty())
        if (const Done settled = desk.judging.settleMeter(runs->front().run.meter); !settled)
            return settled.error();
    const auto newest = std::find_if(runs->rbegin(), runs->rend(), [&](const RunRecord& run) { return run.run.level == a.level; });
    if (newest == runs->rend())
        return refuse(Refusal::RunOfLevelMissing, a.set.value, a.level);
    return *newest;
}

/// The run as the correction leaves it.
Result<acts::ControlRun> corrected(const RunRecord& run, const acts::EntryCorrected& a, const Zone& zone)
{
    FieldGetter current { a.column, {} };
    acts::ControlRun::describe(current, run.run);
    std::string old = a.oldText;
    if (a.column == "at")
        if (const auto moment = TextForm<Moment>::read(old, { &zone, nullptr }); moment && *moment == run.run.at)
            old = current.text;
    acts::ControlRun changed = run.run;
    FieldSetter setter { a.column, a.newText, zone, false, {} };
    acts::ControlRun::describe(setter, changed);
    if (!setter.found)
        return refuse(Refusal::NoSuchColumn, a.column);
    if (old != current.text)
        return refuse(Refusal::CorrectedBefore, a.column, current.text, a.oldText);
    if (setter.fault)
        return *setter.fault;
    if (run.mark && changed.at > run.mark->recordedAt)
        return refuse(Refusal::RunBehindItsEntry, run.mark->recordedAt);
    return changed;
}

Done mayBeConfirmedBy(const Desk& desk, const acts::EntryCorrected& a)
{
    if (!a.confirmedBy)
        return {};
    if (const auto second = needPerson(desk, *a.confirmedBy); !second)
        return second.error();
    return *a.confirmedBy == a.by ? Done(refuse(Refusal::ConfirmedByOneselfAlone, a.by.value)) : Done();
}

/// The correction that an entry carries.
Result<acts::EntryCorrected> correctionOf(Facts& facts, Seq seq)
{
    const auto entry = facts.entry(seq);
    if (!entry)
        return entry.error();
    const auto* correction = *entry ? std::get_if<acts::EntryCorrected>(&(*entry)->act) : nullptr;
    if (correction == nullptr)
        return refuse(Refusal::NotACorrection, seq);
    return *correction;
}

Done followNewestVerdict(const Desk& desk, const base::MeterId& meter, Moment at)
{
    const auto newest = desk.facts.newestSets(meter, desk.occasion.now, 1);
    if (!newest)
        return newest.error();
    return newest->empty() ? Done() : followVerdict(desk, newest->front(), desk.effective(at));
}

/// A stop that a correction lifts stays until a second person has confirmed it; one that it makes waits for nobody.
Result<bool> waitsForSecond(const Desk& desk, const acts::EntryCorrected& correction, const RunRecord& run, bool changed)
{
    const Policy& policy = desk.facts.policyAt(correction.at);
    const bool late = correction.at.utcMs - run.run.at.utcMs > policy.confirmAfterHours * std::int64_t { 3'600'000 };
    const auto newest = desk.facts.newestSets(run.run.meter, desk.occasion.now, 1);
    if (!newest)
        return newest.error();
    const bool stops = !newest->empty() && newest->front().judged.verdict == Verdict::Rejected;
    return !stops && !correction.confirmedBy && policy.secondPerson && (changed || late || run.run.by != correction.by);
}

/// What an annulled act had brought about, by its kind.
struct FollowTakenBack {
    const Desk& desk;
    Seq seq;
    const acts::EntryAnnulled& annulment;

    Done operator()(const acts::ControlRun& run) const { return desk.judging.rejudge(run.meter, seq, desk.person); }
    /// A signature taken back stops the meter again: an annulment never clears one.
    Done operator()(const acts::ReturnStep& step) const
    {
        desk.judging.forget(step.meter);
        return step.step == ReturnStepKind::Signed
            ? stopFor(desk, step.meter, desk.effective(annulment.at), { StopOnly::ReturnAnnulled, seq })
            : Done();
    }
    /// The hold that it caused ends by its return steps.
    Done operator()(const acts::IncidentReported& incident) const
    {
        desk.judging.forget(incident.meter);
        return {};
    }
    Done operator()(const acts::MeterMoved& movement) const
    {
        desk.judging.forget(movement.meter);
        return {};
    }
    Done operator()(const acts::ComparisonRecorded&) const { return {}; } // no verdict of a control rests on it
    Done operator()(const auto& other) const { return desk.judging.markLate(subjectOf(other), std::nullopt, seq, desk.person); }
};

} // namespace

Done admit(const Desk& desk, const acts::EntryCorrected& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    if (const Done second = mayBeConfirmedBy(desk, a); !second)
        return second;
    const auto run = correctedRun(desk, a);
    if (!run)
        return run.error();
    if (a.column == "set" || a.column == "meter" || a.column == "level")
        return refuse(Refusal::ColumnNeverCorrected, a.column);
    const auto changed = corrected(*run, a, desk.facts.zone());
    if (!changed)
        return changed.error();
    const auto may = mayRun(desk, *changed);
    return may ? Done() : Done(may.error());
}

Done admit(const Desk& desk, const acts::EntryAnnulled& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const std::string file = a.file_.ends_with(".csv") ? a.file_ : a.file_ + ".csv";
    if (file == "corrections.csv" || file == "annulments.csv")
        return refuse(Refusal::MendingNotTakenBack);
    const auto target = desk.facts.entryOfKey(a.file_, a.key);
    if (!target)
        return target.error();
    if (!*target)
        return refuse(Refusal::NoRecordOfKey, file, a.key);
    const auto found = desk.facts.entry(**target);
    if (!found)
        return found.error();
    const auto& entry = *found;
    if (!entry)
        return refuse(Refusal::NoRecordOfKey, file, a.key);
    if (std::holds_alternative<acts::VialReleased>(entry->act))
        return refuse(Refusal::VialReleaseNotAnnulled);
    if (const Done settled = desk.judging.settleMeter(base::MeterId(subjectOf(entry->act))); !settled)
        return settled;
    return !entry->annulledBy ? Done() : Done(refuse(Refusal::AnnulledAlready, entry->seq, entry->annulledBy->value));
}

Done admit(const Desk& desk, const acts::CorrectionConfirmed& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const auto correction = correctionOf(desk.facts, a.entry);
    if (!correction)
        return correction.error();
    if (correction->confirmedBy)
        return refuse(Refusal::CorrectionConfirmedAlready, a.entry, correction->confirmedBy->value);
    return correction->by == a.by ? Done(refuse(Refusal::ConfirmedByOneself, a.by.value)) : Done();
}

Done follow(const Desk& desk, Seq seq, const acts::EntryCorrected& correction)
{
    const auto runs = desk.facts.runs(correction.set);
    if (!runs)
        return runs.error();
    const auto run = std::ranges::find_if(*runs, [&](const RunRecord& r) { return r.run.level == correction.level; });
    if (run == runs->end())
        return {};
    const base::MeterId& meter = run->run.meter;
    const auto before = desk.facts.set(correction.set);
    if (!before)
        return before.error();
    if (const Done judged = desk.judging.rejudge(meter, seq, desk.person); !judged)
        return judged;
    const auto after = desk.facts.set(correction.set);
    if (!after)
        return after.error();
    const bool changed = *before && *after && (*before)->judged.verdict != (*after)->judged.verdict;
    const auto waits = waitsForSecond(desk, correction, *run, changed);
    if (!waits)
        return waits.error();
    return *waits ? Done() : followNewestVerdict(desk, meter, correction.at);
}

Done follow(const Desk& desk, Seq, const acts::CorrectionConfirmed& confirmation)
{
    const auto correction = correctionOf(desk.facts, confirmation.entry);
    const auto runs = correction ? desk.facts.runs(correction->set) : Result<std::vector<RunRecord>>(correction.error());
    if (!runs)
        return runs.error();
    return runs->empty() ? Done() : followNewestVerdict(desk, runs->front().run.meter, confirmation.at);
}

Done follow(const Desk& desk, Seq seq, const acts::EntryAnnulled& annulment)
{
    const auto target = takenBackBy(desk.facts, annulment);
    return target ? std::visit(FollowTakenBack { desk, seq, annulment }, target->act) : Done(target.error());
}

Result<KnownEntry> takenBackBy(Facts& facts, const acts::EntryAnnulled& annulment)
{
    const auto seq = facts.entryOfKey(annulment.file_, annulment.key);
    auto entry = seq && *seq ? facts.entry(**seq) : Result<std::optional<KnownEntry>>(std::optional<KnownEntry>());
    if (!seq || !entry)
        return seq ? entry.error() : seq.error();
    if (!*entry)
        return Fault { FaultKind::Damaged, "the record " + annulment.file_ + " '" + annulment.key + "' cannot be found; run verify" };
    return std::move(**entry);
}

} // namespace mk::registry::desk
