// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/lookbacks.h"

#include "base/number_text.h"
#include "base/unread.h"
#include "registry/control/failure_ladder.h"
#include "registry/control/usual_drift.h"
#include "registry/desk/known.h"
#include "registry/meter/lookback.h"
#include "registry/desk/refusal.h"
#include "registry/meter/meter_life.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;
using base::unread;

namespace {

constexpr int kSetsOfLongestRule = 26;

/// The last accepted set before a failure; a meter that has none was never cleared, so its whole service is in question.
Result<Moment> lastGoodBefore(const Desk& desk, const base::MeterId& meter, Moment failure)
{
    const auto accepted = desk.facts.newestAcceptedSet(meter, base::plusMs(failure, -1));
    const auto record = desk.facts.meter(meter);
    if (!accepted || !record)
        return accepted ? record.error() : accepted.error();
    if (*accepted)
        return (*accepted)->judged.lastAt;
    return *record != nullptr ? std::min((*record)->act.enrolled, failure) : failure;
}

/// When testing on it ended: with the stop that stood first, and no later than the failure itself.
Result<Moment> stoppedBy(const Desk& desk, const base::MeterId& meter, Moment from, Moment failure)
{
    const auto stops = desk.facts.stops(meter);
    if (!stops)
        return stops.error();
    Moment stopped = failure;
    for (const auto& stop : *stops)
        if (stop.stop.at >= from && (!stop.endedAt || *stop.endedAt > failure))
            stopped = std::min(stopped, stop.stop.at);
    return stopped;
}

/// Where a drift that stands at the newest set began; an estimate names its set by the last run.
Moment driftBegan(const SetRecord& newest, const std::vector<SetRecord>& sets, Moment from)
{
    const auto began = newest.judged.drift.driftsSince();
    if (!began)
        return from;
    from = std::min(from, *began);
    for (const auto& set : sets)
        if (set.judged.lastAt == *began)
            from = std::min(from, set.judged.firstAt);
    return from;
}

/// Was the meter in service at any time of that interval? Else nobody measured with it, and there is nothing to look back on.
Result<bool> servedWithin(const Desk& desk, const base::MeterId& meter, Moment from, Moment to)
{
    const auto spells = desk.facts.states(meter);
    if (!spells)
        return spells.error();
    return stateIn(*spells, from) == MeterState::InService || std::ranges::any_of(*spells, [&](const StateSpell& spell) {
        return spell.state == MeterState::InService && spell.since > from && spell.since <= to;
    });
}

/// What was measured up to a withdrawal by hand, where no look-back asks for it already.
Done lookBackUpTo(const Desk& desk, const base::MeterId& meter, Moment at, Seq because, const std::string& cause, std::string direction)
{
    const auto doubt = doubtBefore(desk, meter, at);
    const auto known = desk.facts.lookbacks(meter);
    if (!doubt || !known)
        return doubt ? known.error() : doubt.error();
    const bool asked = std::ranges::any_of(*known, [&](const LookbackRecord& each) {
        return !each.closedBy && each.lookback.from <= doubt->from && doubt->to <= std::max(each.lookback.to, doubt->from);
    });
    return asked ? Done()
                 : openLookback(desk, { meter, at, doubt->from, doubt->to, cause, because, {}, {}, {}, givenText(std::move(direction)) });
}

std::string driftInWords(const acts::DriftFinding& drift)
{
    std::string direction;
    if (drift.usual && drift.usual->told)
        for (const auto& level : drift.usual->levels)
            if (const auto newest = stateFrom(*drift.usual).levels[static_cast<std::size_t>(level.level)].newestMean();
                newest && level.usual)
                direction += (direction.empty() ? "" : ", ") + std::string(word(level.level)) + " control "
                    + (*newest < *level.usual ? "" : "+") + base::fixedText(*newest - *level.usual, 1) + " %";
    for (const auto& bias : drift.bias)
        direction += (direction.empty() ? "" : ", ") + std::string(word(bias.level)) + " control " + biasInWords(bias);
    return direction;
}

/// One meter that used a vial which proved to be the cause.
Done openVialLookback(
    const Desk& desk, const SpoiltVial& spoilt, const base::MeterId& meter, const std::optional<Moment>& opened, Moment at, Seq because)
{
    const bool itself = meter == spoilt.failed;
    // The failing meter is cleared again by now; the others are up to this moment.
    const Moment until = itself ? base::plusMs(spoilt.failure, -1) : at;
    const auto record = desk.facts.meter(meter);
    if (!record)
        return record.error();
    const Moment earliest = *record != nullptr ? (*record)->act.enrolled : until;
    auto sets = desk.facts.sets(meter, opened.value_or(earliest), until);
    if (!sets)
        return sets.error();
    std::erase_if(*sets, [](const SetRecord& set) { return !isAccepted(set); });
    const VialDoubt doubt = doubtOf(spoilt.vial, *sets, opened, earliest);
    const auto to = stoppedBy(desk, meter, doubt.from, itself ? spoilt.failure : at);
    if (!to)
        return to.error();
    return openLookback(desk,
        { meter, at, doubt.from, std::max(*to, doubt.from), std::string(word(LadderEnding::StripVial)), because, doubt.alternative, {},
            "strip vial " + spoilt.vial.value, itself ? spoilt.direction : std::nullopt });
}

/// The look-back that an entry opened, for the coordinator to act on.
Result<LookbackRecord> lookbackOf(const Desk& desk, const base::OperatorId& by, Seq opening)
{
    const auto person = needPerson(desk, by);
    if (!person)
        return person.error();
    if (const Done may = onlyCoordinator(**person, Refusal::CoordinatorClosesLookbacks); !may)
        return may.error();
    const auto entry = desk.facts.entry(opening);
    if (!entry)
        return entry.error();
    const auto* opened = *entry ? std::get_if<acts::LookbackOpened>(&(*entry)->act) : nullptr;
    if (opened == nullptr)
        return refuse(Refusal::NoLookback, opening);
    const auto all = desk.facts.lookbacks(opened->meter);
    if (!all)
        return all.error();
    const auto found = std::ranges::find(*all, opening, &LookbackRecord::seq);
    if (found == all->end())
        return base::fault(FaultKind::Damaged, "the look-back of entry %1 cannot be read; run verify", opening.value);
    return *found;
}

Result<LookbackRecord> undecided(const Desk& desk, const base::OperatorId& by, Seq opening)
{
    auto known = lookbackOf(desk, by, opening);
    return known && known->closedBy ? Result<LookbackRecord>(refuse(Refusal::LookbackDecided, opening)) : known;
}

} // namespace

std::optional<std::string> givenText(std::string text)
{
    return text.empty() ? std::nullopt : std::optional(std::move(text));
}

Done admit(const Desk& desk, const acts::LookbackClosed& a)
{
    const auto waiting = undecided(desk, a.by, a.entry);
    return waiting ? mayCloseLookback(a, waiting->lookback) : Done(waiting.error());
}

Done admit(const Desk& desk, const acts::LookbackAssigned& a)
{
    if (const auto waiting = undecided(desk, a.by, a.entry); !waiting)
        return waiting.error();
    if (a.decides.find_first_not_of(" \t\n") == std::string::npos)
        return refuse(Refusal::LookbackForNobody);
    return a.until < desk.facts.zone().dateOf(a.at) ? refuse(Refusal::LookbackDuePast, a.until) : Done();
}

Done admit(const Desk& desk, const acts::LookbackAsked& a)
{
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if (const Done may = onlyCoordinator(**person, Refusal::CoordinatorClosesLookbacks); !may)
        return may;
    if (a.cause.find_first_not_of(" \t\n") == std::string::npos || a.to < a.from)
        return refuse(Refusal::LookbackIncomplete);
    const auto served = servedWithin(desk, a.meter, a.from, a.to);
    if (!served)
        return served.error();
    return *served ? Done() : Done(refuse(Refusal::NotInServiceThen, a.meter.value));
}

Done follow(const Desk& desk, Seq seq, const acts::LookbackAsked& a)
{
    return openLookback(desk, { a.meter, desk.effective(a.at), a.from, a.to, a.cause, seq, {}, {}, a.scope, a.direction });
}

Done admit(const Desk& desk, const acts::LookbackReopened& a)
{
    const auto known = lookbackOf(desk, a.by, a.entry);
    if (!known)
        return known.error();
    if (!known->closedBy)
        return refuse(Refusal::LookbackUndecided, a.entry);
    return a.reason.find_first_not_of(" \t\n") == std::string::npos ? refuse(Refusal::LookbackIncomplete) : Done();
}

Done openLookback(const Desk& desk, const acts::LookbackOpened& lookback)
{
    const auto known = desk.facts.lookbacks(lookback.meter);
    if (!known)
        return known.error();
    // Judging again never asks twice for the same interval.
    const auto served = servedWithin(desk, lookback.meter, lookback.from, lookback.to);
    if (!served)
        return served.error();
    const bool there = std::ranges::any_of(*known, [&](const LookbackRecord& r) {
        return r.lookback.cause == lookback.cause && r.lookback.from == lookback.from && r.lookback.scope == lookback.scope;
    });
    return there || !*served ? Done() : desk.letFollow(lookback);
}

Result<Doubt> doubtBefore(const Desk& desk, const base::MeterId& meter, Moment failure)
{
    const auto from = lastGoodBefore(desk, meter, failure);
    const auto to = from ? stoppedBy(desk, meter, *from, failure) : from;
    if (!to)
        return to.error();
    return Doubt { *from, *to };
}

Done openShiftLookback(const Desk& desk, const SetRecord& newest, Moment at, const std::string& cause, Seq because)
{
    const base::MeterId& meter = newest.judged.meter;
    auto sets = desk.facts.newestSets(meter, newest.judged.lastAt, kSetsOfLongestRule);
    if (!sets)
        return sets.error();
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > newest.judged.lastAt; });
    std::ranges::reverse(*sets);
    if (sets->empty() || sets->back().judged.set != newest.judged.set)
        return {};
    const bool drift = cause == code(ReasonCode::Drift);
    const Moment began = sequenceStart(*sets);
    const Moment from = drift ? driftBegan(newest, *sets, began) : began;
    const auto alternative = lastGoodBefore(desk, meter, from);
    const auto to = alternative ? stoppedBy(desk, meter, from, drift ? at : newest.judged.lastAt) : alternative;
    if (!to)
        return to.error();
    const std::string direction = drift ? driftInWords(newest.judged.drift) : errorInWords({ &sets->back(), 1 });
    return openLookback(desk, { meter, at, from, std::max(*to, from), cause, because, *alternative, {}, {}, givenText(direction) });
}

Done openVialLookbacks(const Desk& desk, const SpoiltVial& spoilt, Moment at, Seq because)
{
    const auto record = desk.facts.stripVial(spoilt.vial);
    const auto meters = desk.facts.metersOnVial(spoilt.vial.value);
    if (!record || !meters)
        return record ? meters.error() : record.error();
    const std::optional<Moment> opened = *record != nullptr ? (*record)->vial.opened : std::nullopt;
    for (const auto& meter : *meters)
        if (const Done done = openVialLookback(desk, spoilt, meter, opened, at, because); !done)
            return done;
    return {};
}

Done openLotLookbacks(const Desk& desk, const base::StripLotId& lot, Moment at, Seq because)
{
    const auto meters = desk.facts.metersThatUsed(lot.value);
    if (!meters)
        return meters.error();
    for (const auto& meter : *meters) {
        const auto sets = desk.facts.sets(meter, base::kBeginningOfTime, at);
        if (!sets)
            return sets.error();
        const auto first = std::ranges::find_if(*sets, [&](const SetRecord& set) {
            return std::ranges::any_of(set.runs, [&](const RunRecord& run) { return run.judged.stripLot == lot; });
        });
        if (first == sets->end())
            continue;
        const Done opened = openLookback(desk,
            { meter, at, first->judged.firstAt, at, std::string(code(ReasonCode::LotQuarantined)), because, {}, {},
                "strip lot " + lot.value, {} });
        if (!opened)
            return opened;
    }
    return {};
}

Done lookBackOnWithdrawal(const Desk& desk, const base::MeterId& meter, Moment at, Seq because)
{
    if (desk.occasion.imported)
        return {};
    const auto counted = desk.facts.newestCountedSet(meter, at);
    if (!counted)
        return counted.error();
    if (!*counted || !(*counted)->judged.drift.drifts())
        return lookBackUpTo(desk, meter, at, because, std::string(word(StopOnly::Movement)), {});
    if (failsOnlyNow(**counted))
        return lookBackUpTo(desk, meter, at, because, std::string(code(ReasonCode::ControlRejected)), errorInWords({ &**counted, 1 }));
    return openShiftLookback(desk, **counted, at, std::string(code(ReasonCode::Drift)), because);
}

Done lookBackOnComparison(const Desk& desk, const base::MeterId& meter, Moment at, Seq because, std::optional<Moment> lastInside)
{
    if (desk.occasion.imported)
        return {};
    const auto good = lastGoodBefore(desk, meter, at);
    if (!good)
        return good.error();
    // The laboratory saw it right last; a control may have been accepted since, and the reviewer may choose that.
    const Moment from = lastInside && *lastInside < *good ? *lastInside : *good;
    const auto to = stoppedBy(desk, meter, from, at);
    if (!to)
        return to.error();
    const auto alternative = from < *good ? std::optional(*good) : std::nullopt;
    return openLookback(
        desk, { meter, at, from, std::max(*to, from), std::string(code(ReasonCode::ComparisonFailed)), because, alternative, {}, {}, {} });
}

/// Damage, liquid and a wrong unit may be as old as the last good control (handbook 1.5); any other doubt begins with the event, and counts
/// where an accepted set followed or somebody used the meter.
Done lookBackOnIncident(const Desk& desk, Seq seq, const acts::IncidentReported& incident, Moment told)
{
    const auto sets = desk.facts.sets(incident.meter, incident.at, told);
    if (!sets)
        return sets.error();
    const auto next = std::ranges::find_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > incident.at && isAccepted(set); });
    const bool used = incident.used == YesNo::Yes;
    const bool older = !desk.occasion.imported
        && (incident.what == IncidentKind::Wet || incident.what == IncidentKind::Damaged || incident.what == IncidentKind::WrongUnit);
    const Moment noticed = std::max(incident.noticedAt.value_or(incident.at), incident.at);
    if (next == sets->end() && !older && (!used || noticed <= incident.at))
        return {};
    const auto from = older ? lastGoodBefore(desk, incident.meter, incident.at) : Result<Moment>(incident.at);
    if (!from)
        return from.error();
    const Moment to = next != sets->end() ? next->judged.lastAt : noticed;
    const std::optional<Moment> usedUntil = used ? std::optional(std::min(noticed, to)) : std::nullopt;
    return openLookback(
        desk, { incident.meter, told, *from, to, std::string(code(*effectOf(incident.what).reason)), seq, {}, usedUntil, {}, {} });
}

Done lookBackOnWrongUnit(const Desk& desk, Seq seq, const acts::IncidentReported& incident, Moment told)
{
    const auto meter = desk.facts.meter(incident.meter);
    const auto accepted = desk.facts.newestAcceptedSet(incident.meter, incident.at);
    const auto steps = desk.facts.returnSteps(incident.meter);
    const auto checks = desk.facts.facts<acts::AcceptanceChecked>(incident.meter.value);
    if (!meter || !accepted || !steps || !checks)
        return unread("the records of '%1' cannot be read; run verify", incident.meter.value, meter, accepted, steps, checks);
    Moment from = (*meter)->act.enrolled;
    const auto proves = [&](Moment at) {
        if (at <= incident.at)
            from = std::max(from, at);
    };
    if (*accepted)
        proves((*accepted)->judged.lastAt);
    for (const auto& step : *steps)
        if (step.act.step == ReturnStepKind::Inspected)
            proves(step.act.at);
    for (const auto& check : *checks)
        if (check.act.item == AcceptanceItem::UnitAndClock && check.act.met == YesNo::Yes)
            proves(check.act.at);
    const Moment to = std::max(told, from);
    const auto served = servedWithin(desk, incident.meter, from, to);
    if (!served || !*served)
        return served ? Done() : Done(served.error());
    return desk.letFollow(acts::LookbackOpened { incident.meter, told, from, to, std::string(code(ReasonCode::WrongUnit)), seq });
}

} // namespace mk::registry::desk
