// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/second_person.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/mended_run.h"
#include "registry/desk/mending.h"
#include "registry/desk/refusal.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Result;
using base::Seq;

namespace {

Result<std::optional<base::ModelId>> modelIdOf(const Desk& desk, const base::MeterId& meter)
{
    const auto record = desk.facts.meter(meter);
    if (!record)
        return record.error();
    return *record == nullptr ? std::optional<base::ModelId>() : std::optional((*record)->act.model);
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

/// Whom corrections that took effect have ascribed the set's runs of that level to, or taken them from.
Result<std::vector<std::string>> everAscribed(const Desk& desk, const base::SetId& set, Level level)
{
    const auto corrections = desk.facts.facts<acts::EntryCorrected>(set.value);
    if (!corrections)
        return corrections.error();
    std::vector<std::string> people;
    for (const auto& each : *corrections) {
        if (each.act.level != level || each.act.column != "operator")
            continue;
        const auto confirmed = isConfirmed(desk, each.seq);
        if (!confirmed)
            return confirmed.error();
        if (each.act.waits != YesNo::Yes || *confirmed)
            people.insert(people.end(), { each.act.oldText, each.act.newText });
    }
    return people;
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

Done maySecondCorrection(
    const Desk& desk, const base::OperatorId& who, const acts::EntryCorrected& a, const std::string& typedBy, const RunRecord& run)
{
    const auto entry = desk.facts.entry(run.seq);
    const auto model = modelIdOf(desk, run.run.meter);
    auto parts = everAscribed(desk, a.set, a.level);
    if (!entry || !model || !parts)
        return !entry ? entry.error() : model ? parts.error() : model.error();
    parts->insert(parts->end(), { a.by.value, typedBy, run.run.by.value });
    if (*entry)
        parts->push_back((*entry)->person);
    if (a.column == "operator")
        parts->insert(parts->end(), { a.oldText, a.newText });
    return maySecond(desk, who, *model, *parts);
}

Done mayBeConfirmedBy(const Desk& desk, const acts::EntryCorrected& a, const RunRecord& run)
{
    if (!a.confirmedBy)
        return {};
    if (*a.confirmedBy == a.by)
        return refuse(Refusal::ConfirmedByOneselfAlone, a.by.value);
    return maySecondCorrection(desk, *a.confirmedBy, a, desk.occasion.author.value, run);
}

Done maySecondAnnulment(
    const Desk& desk, const base::OperatorId& who, const acts::EntryAnnulled& a, const std::string& typedBy, const KnownEntry& target)
{
    const auto model = modelIdOf(desk, base::MeterId(subjectOf(target.act)));
    if (!model)
        return model.error();
    std::vector<std::string> parts { a.by.value, typedBy, target.person, subjectOf(target.act) };
    if (const auto person = registry::personOf(target.act))
        parts.push_back(person->value);
    if (const auto* run = std::get_if<acts::ControlRun>(&target.act)) { // whoever it was ascribed to since
        const auto people = everAscribed(desk, run->set, run->level);
        if (!people)
            return people.error();
        parts.insert(parts.end(), people->begin(), people->end());
    }
    return maySecond(desk, who, *model, parts);
}

Result<bool> isConfirmed(const Desk& desk, Seq mending)
{
    const auto confirmed = desk.facts.facts<acts::CorrectionConfirmed>("entry " + std::to_string(mending.value));
    return confirmed ? Result<bool>(!confirmed->empty()) : Result<bool>(confirmed.error());
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

} // namespace mk::registry::desk
