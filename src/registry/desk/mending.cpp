// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/mending.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/mended_run.h"
#include "registry/desk/runs.h"
#include "registry/desk/second_person.h"
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

bool isBlank(const std::string& text)
{
    return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

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