// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/mending.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/runs.h"
#include "registry/desk/refusal.h"
#include "registry/desk/stops.h"
#include "registry/people/roles.h"

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

/// The run that a correction speaks of: the newest attempt of its level.
/// entered  its own entry: what was run later it does not speak of; none: it is entered now
Result<RunRecord> correctedRun(const Desk& desk, const acts::EntryCorrected& a, std::optional<Seq> entered = std::nullopt)
{
    const auto runs = desk.facts.runs(a.set);
    if (!runs)
        return runs.error();
    // What stands is judged before it is changed, so that the chain shows both verdicts.
    if (!runs->empty())
        if (const Done settled = desk.judging.settleMeter(runs->front().run.meter); !settled)
            return settled.error();
    const auto newest = std::find_if(
        runs->rbegin(), runs->rend(), [&](const RunRecord& run) { return run.run.level == a.level && (!entered || run.seq < *entered); });
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

bool isBlank(const std::string& text)
{
    return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

Result<std::optional<base::ModelId>> modelIdOf(const Desk& desk, const base::MeterId& meter)
{
    const auto record = desk.facts.meter(meter);
    if (!record)
        return record.error();
    return *record == nullptr ? std::optional<base::ModelId>() : std::optional((*record)->act.model);
}

/// Who has a part in a correction: who ran it, entered it, corrects it, types it, and whom it names.
Done maySecondCorrection(
    const Desk& desk, const base::OperatorId& who, const acts::EntryCorrected& a, const std::string& typedBy, const RunRecord& run)
{
    const auto entry = desk.facts.entry(run.seq);
    const auto model = modelIdOf(desk, run.run.meter);
    if (!entry || !model)
        return entry ? model.error() : entry.error();
    std::vector<std::string> parts { a.by.value, typedBy, run.run.by.value };
    if (*entry)
        parts.push_back((*entry)->person);
    if (a.column == "operator")
        parts.insert(parts.end(), { a.oldText, a.newText });
    return maySecond(desk, who, *model, parts);
}

Done mayBeConfirmedBy(const Desk& desk, const acts::EntryCorrected& a, const RunRecord& run)
{
    if (!a.confirmedBy)
        return {};
    if (*a.confirmedBy == a.by)
        return refuse(Refusal::ConfirmedByOneselfAlone, a.by.value);
    return maySecondCorrection(desk, *a.confirmedBy, a, desk.occasion.author.value, run);
}

/// Who has a part in an annulment: whoever is named in what it annuls, entered it, annuls it, or types that.
Done maySecondAnnulment(
    const Desk& desk, const base::OperatorId& who, const acts::EntryAnnulled& a, const std::string& typedBy, const KnownEntry& target)
{
    const auto model = modelIdOf(desk, base::MeterId(subjectOf(target.act)));
    if (!model)
        return model.error();
    std::vector<std::string> parts { a.by.value, typedBy, target.person, subjectOf(target.act) };
    if (const auto person = personOf(target.act))
        parts.push_back(person->value);
    return maySecond(desk, who, *model, parts);
}

int rankOf(Verdict verdict)
{
    switch (verdict) {
    case Verdict::Rejected: return 0;
    case Verdict::Invalid: return 1;
    case Verdict::Partial: return 2;
    case Verdict::Warned: return 3;
    case Verdict::Accepted: return 4;
    }
    return 0;
}

/// Would a set be judged better, and none newly be rejected? What stops a meter waits for nobody.
Result<bool> betters(const Desk& desk, const base::MeterId& meter, Seq run, const std::optional<acts::ControlRun>& changed)
{
    const auto retried = desk.judging.retry(meter, run, changed);
    if (!retried)
        return retried.error();
    bool better = false;
    for (const auto& each : *retried) {
        if (each.after == Verdict::Rejected && each.before != Verdict::Rejected)
            return false;
        better = better || (each.after ? rankOf(*each.after) > rankOf(each.before) : !isAccepted(each.before));
    }
    return better;
}

/// Might a meter stand better without that act? Of a run and a comparison what was judged of them says so.
struct BetterWithout {
    const Desk& desk;
    Seq seq;

    Result<bool> operator()(const acts::ControlRun& run) const { return betters(desk, run.meter, seq, std::nullopt); }
    Result<bool> operator()(const acts::ComparisonRecorded& pair) const
    {
        const auto pairs = desk.facts.pairs(pair.meter);
        if (!pairs)
            return pairs.error();
        return std::ranges::any_of(
            *pairs, [&](const PairRecord& each) { return each.seq == seq && each.judged.outcome == PairOutcome::Outside; });
    }
    Result<bool> operator()(const acts::LotEvent& event) const { return event.what != LotEventKind::Released; }
    Result<bool> operator()(const acts::MeterMoved& movement) const
    {
        return movement.toState && movement.toState != MeterState::InService;
    }
    /// A cleaning that never was leaves the meter soiled: that waits for nobody.
    Result<bool> operator()(const acts::IncidentReported& incident) const { return incident.what != IncidentKind::Cleaned; }
    template <typename A>
    Result<bool> operator()(const A&) const
    {
        return std::
                   is_same_v<A,
                       acts::
                           VialEnded> || std::is_same_v<A, acts::RangeAssigned> || std::is_same_v<A, acts::CompetencyAssessed> || std::is_same_v<A, acts::OperatorChanged> || std::is_same_v<A, acts::TechniqueChecked> || std::is_same_v<A, acts::NoticeIssued> || std::is_same_v<A, acts::ExcursionReported> || std::is_same_v<A, acts::LotControlChecked> || std::is_same_v<A, acts::LotSampleCompared>;
    }
};

/// Some acts are the coordinator's by what they say.
bool isCoordinators(const Act& act)
{
    if (const auto* event = std::get_if<acts::LotEvent>(&act))
        return event->what != LotEventKind::Quarantined;
    const auto* range = std::get_if<acts::RangeAssigned>(&act);
    return range != nullptr && (range->mean || range->sd || range->meter);
}

/// The role that the act asks; one's own of the same day asks no other (handbook 17.13).
Done mayAnnul(const Desk& desk, const OperatorRecord& person, const KnownEntry& entry)
{
    if (desk.occasion.imported)
        return {};
    if (const Done may = mayRecord(person); !may)
        return may;
    const auto kind = kindOf(entry.act);
    if (isProgramsOwn(kind))
        return refuse(Refusal::AnnulledByNobody, entry.seq, std::string(kind));
    const Zone& zone = desk.facts.zone();
    const bool own = entry.person == person.act.id.value && zone.dateOf(entry.at) == zone.dateOf(desk.occasion.now);
    const bool role = mayRecord(person.act.role, kind) && (person.act.role == Role::Coordinator || !isCoordinators(entry.act));
    return own || role ? Done() : Done(refuse(Refusal::AnnulmentNeedsRole, entry.seq, std::string(kind)));
}

/// Null where that entry carries none.
template <typename A>
Result<std::optional<A>> carried(Facts& facts, Seq seq)
{
    const auto entry = facts.entry(seq);
    if (!entry)
        return entry.error();
    const auto* act = *entry ? std::get_if<A>(&(*entry)->act) : nullptr;
    return act != nullptr ? std::optional(*act) : std::nullopt;
}

Result<bool> isConfirmed(const Desk& desk, Seq mending)
{
    const auto confirmed = desk.facts.facts<acts::CorrectionConfirmed>("entry " + std::to_string(mending.value));
    return confirmed ? Result<bool>(!confirmed->empty()) : Result<bool>(confirmed.error());
}

Done followNewestVerdict(const Desk& desk, const base::MeterId& meter, Moment at)
{
    const auto newest = desk.facts.newestSets(meter, desk.occasion.now, 1);
    if (!newest)
        return newest.error();
    return newest->empty() ? Done() : followVerdict(desk, newest->front(), desk.effective(at));
}

/// A stop that a correction lifts stays until a second person has confirmed it; one that it makes waits for nobody.
/// Of what was taken over, or entered before an entry said of itself that it waits.
Result<bool> stopWaits(const Desk& desk, const acts::EntryCorrected& correction, const RunRecord& run, bool changed)
{
    if (!desk.occasion.imported)
        return false;
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

/// Adds those of one kind.
template <typename A>
Done takeUnconfirmed(Facts& facts, std::vector<KnownEntry>& found)
{
    const auto mendings = facts.facts<A>();
    const auto confirmed = facts.facts<acts::CorrectionConfirmed>();
    if (!mendings || !confirmed)
        return mendings ? confirmed.error() : mendings.error();
    for (const auto& each : *mendings) {
        const bool again = std::ranges::any_of(*confirmed, [&](const auto& by) { return by.act.entry == each.seq; });
        if (again || each.act.confirmedBy)
            continue;
        auto entry = facts.entry(each.seq);
        if (!entry)
            return entry.error();
        if (*entry && (each.act.waits || (*entry)->imported))
            found.push_back(std::move(**entry));
    }
    return {};
}

/// What a waiting correction speaks of must still be there, and say what it said then.
Done mayMendNow(const Desk& desk, const acts::EntryCorrected& correction, Seq entered, const RunRecord& run)
{
    const auto annulments = desk.facts.facts<acts::EntryAnnulled>();
    if (!annulments)
        return annulments.error();
    for (const auto& each : *annulments) {
        const auto target = takenBackBy(desk.facts, each.act);
        if (!target)
            return target.error();
        const auto* gone = std::get_if<acts::ControlRun>(&target->act);
        if (gone != nullptr && gone->set == correction.set && gone->level == correction.level && target->seq > run.seq
            && target->seq < entered && target->annulledBy && *target->annulledBy > entered)
            return refuse(Refusal::AnnulledAlready, target->seq, target->annulledBy->value);
    }
    const auto changed = corrected(run, correction, desk.facts.zone());
    return changed ? Done() : Done(changed.error());
}

/// Who confirms has no part in it, whoever typed it included.
Done mayConfirm(const Desk& desk, const acts::CorrectionConfirmed& word, const acts::EntryCorrected& correction, const std::string& typedBy)
{
    const auto run = correctedRun(desk, correction, word.entry);
    if (!run)
        return run.error();
    if (waitsForSecond(correction))
        if (const Done may = mayMendNow(desk, correction, word.entry, *run); !may)
            return may;
    return maySecondCorrection(desk, word.by, correction, typedBy, *run);
}

Done mayConfirm(const Desk& desk, const acts::CorrectionConfirmed& word, const acts::EntryAnnulled& annulment, const std::string& typedBy)
{
    const auto target = takenBackBy(desk.facts, annulment);
    if (!target)
        return target.error();
    if (const Done settled = desk.judging.settleMeter(base::MeterId(subjectOf(target->act))); !settled)
        return settled;
    if (waitsForSecond(annulment) && target->annulledBy)
        return refuse(Refusal::AnnulledAlready, target->seq, target->annulledBy->value);
    return maySecondAnnulment(desk, word.by, annulment, typedBy, *target);
}

Done followAnnulled(const Desk& desk, Seq seq, const acts::EntryAnnulled& annulment)
{
    const auto target = takenBackBy(desk.facts, annulment);
    return target ? std::visit(FollowTakenBack { desk, seq, annulment }, target->act) : Done(target.error());
}

} // namespace

Done maySecond(
    const Desk& desk, const base::OperatorId& who, const std::optional<base::ModelId>& model, const std::vector<std::string>& parts)
{
    const auto person = desk.occasion.imported ? needPerson(desk, who) : needActive(desk, who);
    if (!person || desk.occasion.imported)
        return person ? Done() : Done(person.error());
    if (const Done may = mayRecord(**person); !may)
        return may;
    if (std::ranges::find(parts, who.value) != parts.end())
        return refuse(Refusal::SecondHasPart, who.value);
    if ((*person)->act.role == Role::Coordinator)
        return {};
    const auto competency = desk.facts.competency(**person, model, desk.occasion.now);
    if (!competency)
        return competency.error();
    return competency->holds() ? Done() : Done(refuse(Refusal::SecondNotCompetent, who.value));
}

Done admit(const Desk& desk, const acts::EntryCorrected& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    if (!desk.occasion.imported && isBlank(a.reason))
        return refuse(Refusal::MendingReasonMissing);
    const auto run = correctedRun(desk, a);
    if (!run)
        return run.error();
    if (const Done second = mayBeConfirmedBy(desk, a, *run); !second)
        return second;
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
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if (!desk.occasion.imported && isBlank(a.reason))
        return refuse(Refusal::MendingReasonMissing);
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
    if (const Done may = mayAnnul(desk, **person, *entry); !may)
        return may;
    if (a.confirmedBy)
        if (const Done second = maySecondAnnulment(desk, *a.confirmedBy, a, desk.occasion.author.value, *entry); !second)
            return second;
    return !entry->annulledBy ? Done() : Done(refuse(Refusal::AnnulledAlready, entry->seq, entry->annulledBy->value));
}

Done admit(const Desk& desk, const acts::CorrectionConfirmed& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const auto correction = carried<acts::EntryCorrected>(desk.facts, a.entry);
    const auto annulment = carried<acts::EntryAnnulled>(desk.facts, a.entry);
    const auto confirmed = isConfirmed(desk, a.entry);
    if (!correction || !annulment || !confirmed)
        return !correction ? correction.error() : !annulment ? annulment.error() : confirmed.error();
    if (!*correction && !*annulment)
        return refuse(Refusal::NotACorrection, a.entry);
    const auto& by = *correction ? (*correction)->confirmedBy : (*annulment)->confirmedBy;
    if (by)
        return refuse(Refusal::CorrectionConfirmedAlready, a.entry, by->value);
    if ((*correction ? (*correction)->by : (*annulment)->by) == a.by)
        return refuse(Refusal::ConfirmedByOneself, a.by.value);
    if (*confirmed)
        return refuse(Refusal::NothingWaits, a.entry);
    const auto entry = desk.facts.entry(a.entry);
    if (!entry)
        return entry.error();
    const std::string typedBy = *entry ? (*entry)->person : std::string();
    return *correction ? mayConfirm(desk, a, **correction, typedBy) : mayConfirm(desk, a, **annulment, typedBy);
}

Done complete(const Desk& desk, acts::EntryCorrected& a)
{
    a.waits.reset();
    if (a.confirmedBy)
        return {};
    const auto run = correctedRun(desk, a);
    const auto changed = run ? corrected(*run, a, desk.facts.zone()) : Result<acts::ControlRun>(run.error());
    const auto better = changed ? betters(desk, run->run.meter, run->seq, *changed) : Result<bool>(changed.error());
    if (!better)
        return better.error();
    if (*better)
        a.waits = desk.facts.policyAt(desk.occasion.now).secondPerson ? YesNo::Yes : YesNo::No;
    return {};
}

Done complete(const Desk& desk, acts::EntryAnnulled& a)
{
    a.waits.reset();
    if (a.confirmedBy)
        return {};
    const auto target = takenBackBy(desk.facts, a);
    const auto better = target ? std::visit(BetterWithout { desk, target->seq }, target->act) : Result<bool>(target.error());
    if (!better)
        return better.error();
    if (*better)
        a.waits = desk.facts.policyAt(desk.occasion.now).secondPerson ? YesNo::Yes : YesNo::No;
    return {};
}

bool waitsForSecond(const Act& act)
{
    const auto* correction = std::get_if<acts::EntryCorrected>(&act);
    const auto* annulment = std::get_if<acts::EntryAnnulled>(&act);
    return (correction != nullptr && correction->waits == YesNo::Yes) || (annulment != nullptr && annulment->waits == YesNo::Yes);
}

Done mayNotSignOwnMending(const Desk& desk, const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed || desk.occasion.imported)
        return {};
    const auto corrections = desk.facts.facts<acts::EntryCorrected>();
    const auto annulments = desk.facts.facts<acts::EntryAnnulled>();
    if (!corrections || !annulments)
        return corrections ? annulments.error() : corrections.error();
    std::vector<Seq> waiting;
    for (const auto& each : *corrections) {
        if (each.act.waits != YesNo::Yes || each.act.by != step.by)
            continue;
        const auto meter = desk.facts.meterOfSet(each.act.set);
        if (!meter)
            return meter.error();
        if (*meter == step.meter)
            waiting.push_back(each.seq);
    }
    for (const auto& each : *annulments) {
        if (each.act.waits != YesNo::Yes || each.act.by != step.by)
            continue;
        const auto target = takenBackBy(desk.facts, each.act);
        if (!target)
            return target.error();
        if (subjectOf(target->act) == step.meter.value)
            waiting.push_back(each.seq);
    }
    for (const Seq seq : waiting) {
        const auto confirmed = isConfirmed(desk, seq);
        if (!confirmed)
            return confirmed.error();
        if (!*confirmed)
            return refuse(Refusal::OwnMendingWaits, step.by.value, step.meter.value, seq);
    }
    return {};
}

Done follow(const Desk& desk, Seq seq, const acts::EntryCorrected& correction)
{
    if (waitsForSecond(correction))
        return {};
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
    const auto waits = stopWaits(desk, correction, *run, changed);
    if (!waits)
        return waits.error();
    return *waits ? Done() : followNewestVerdict(desk, meter, correction.at);
}

Done follow(const Desk& desk, Seq seq, const acts::CorrectionConfirmed& confirmation)
{
    const auto annulment = carried<acts::EntryAnnulled>(desk.facts, confirmation.entry);
    const auto correction = carried<acts::EntryCorrected>(desk.facts, confirmation.entry);
    if (!annulment || !correction)
        return annulment ? correction.error() : annulment.error();
    if (*annulment)
        return waitsForSecond(**annulment) ? followAnnulled(desk, seq, **annulment) : Done();
    const auto runs = desk.facts.runs((*correction)->set);
    if (!runs || runs->empty())
        return runs ? Done() : Done(runs.error());
    const base::MeterId meter = runs->front().run.meter;
    if (waitsForSecond(**correction))
        if (const Done judged = desk.judging.rejudge(meter, seq, desk.person); !judged)
            return judged;
    return followNewestVerdict(desk, meter, confirmation.at);
}

Done follow(const Desk& desk, Seq seq, const acts::EntryAnnulled& annulment)
{
    return waitsForSecond(annulment) ? Done() : followAnnulled(desk, seq, annulment);
}

Result<std::vector<KnownEntry>> unconfirmedMendings(Facts& facts)
{
    std::vector<KnownEntry> found;
    if (const Done corrections = takeUnconfirmed<acts::EntryCorrected>(facts, found); !corrections)
        return corrections.error();
    if (const Done annulments = takeUnconfirmed<acts::EntryAnnulled>(facts, found); !annulments)
        return annulments.error();
    std::ranges::sort(found, {}, &KnownEntry::seq);
    return found;
}

Result<KnownEntry> takenBackBy(Facts& facts, const acts::EntryAnnulled& annulment)
{
    const auto seq = facts.entryOfKey(annulment.file_, annulment.key);
    auto entry = seq && *seq ? facts.entry(**seq) : Result<std::optional<KnownEntry>>(std::optional<KnownEntry>());
    if (!seq || !entry)
        return seq ? entry.error() : seq.error();
    if (!*entry)
        return base::fault(FaultKind::Damaged, "the record %1 '%2' cannot be found; run verify", annulment.file_, annulment.key);
    return std::move(**entry);
}

} // namespace mk::registry::desk
