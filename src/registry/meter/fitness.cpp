// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/fitness.h"

#include "registry/lots/lot_effect.h"
#include "registry/meter/assessment.h"
#include "registry/meter/meter_life.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

void Assessment::add(Reason reason)
{
    const auto same = std::ranges::find(result.reasons, reason.code, &Reason::code);
    if (same == result.reasons.end()) {
        result.reasons.push_back(std::move(reason));
        return;
    }
    same->blocks = same->blocks || reason.blocks;
    same->since = reason.since ? reason.since : same->since;
    for (const auto seq : reason.evidence)
        if (std::ranges::find(same->evidence, seq) == same->evidence.end())
            same->evidence.push_back(seq);
}

void Assessment::add(ReasonCode code, std::vector<base::Seq> evidence, ReasonFacts facts, std::optional<base::Moment> since)
{
    add({ code, std::move(facts), rowOf(code).blocks == Blocks::Always, std::move(evidence), since });
}

const Reason* Assessment::standing(ReasonCode code) const
{
    const auto found = std::ranges::find(result.reasons, code, &Reason::code);
    return found == result.reasons.end() ? nullptr : &*found;
}

void Assessment::then(NextStep step)
{
    if (std::ranges::none_of(result.next, [&](const NextStep& other) { return other.same(step); }))
        result.next.push_back(std::move(step));
}

Overdue Assessment::overdue(base::Moment due, std::vector<Level> toRun) const
{
    Overdue overdue { onTheWall(due), {}, std::move(toRun) };
    if (policy.since && due < *policy.since)
        overdue.policySince = onTheWall(*policy.since);
    return overdue;
}

namespace {

void assessUse(Assessment& a)
{
    if (!a.history.model || a.history.model->act.sharedUse != YesNo::Yes) {
        a.add(ReasonCode::NotForSharedUse, { a.history.model ? a.history.model->seq : a.history.meter.seq });
        a.then(StepKind::AskWhetherShared);
    }
}

void assessState(Assessment& a)
{
    if (!a.history.state) {
        a.result.state = MeterState::Received;
        a.add(ReasonCode::NotInService, { a.history.meter.seq }, NotYetInService {});
        return;
    }
    a.result.state = a.history.state->state;
    a.result.stateSince = a.history.state->since;
    if (a.result.state == MeterState::InService)
        return;
    std::vector<base::Seq> evidence { a.history.state->seq };
    for (const auto& stop : a.history.openStops)
        if (stop.seq != a.history.state->seq)
            evidence.push_back(stop.seq);
    const bool endsByItself = std::ranges::all_of(a.history.openStops, [](const StopRecord& s) { return !s.stop.needsSignature; });
    a.add(ReasonCode::NotInService, evidence, OutOfService { a.result.state, a.onTheWall(a.history.state->since), endsByItself });
    for (const auto& stop : a.history.openStops)
        if (stop.stop.cause == code(ReasonCode::LadderExhausted))
            a.add(ReasonCode::LadderExhausted, { stop.seq });
}

void assessIncidents(Assessment& a)
{
    const auto lastAccepted = a.history.newestAccepted ? std::optional(clearsSince(*a.history.newestAccepted)) : std::nullopt;
    for (const auto& incident : a.history.incidents) {
        const IncidentEffect& effect = effectOf(incident.act.what);
        if (!effect.reason)
            continue;
        const bool uncleared = effect.cancelsClearance && (!lastAccepted || *lastAccepted <= incident.act.at);
        const auto stop = std::ranges::find_if(a.history.openStops, [&](const StopRecord& s) { return s.stop.because == incident.seq; });
        if (uncleared || stop != a.history.openStops.end())
            a.add(*effect.reason, { incident.seq }, {}, incident.act.at);
    }
    const std::int64_t from = a.at.utcMs - a.policy.errorCodeHours * Assessment::kHour;
    const auto recent = std::ranges::count_if(a.history.errorCodes, [&](base::Moment at) { return at.utcMs > from; });
    const auto held = std::ranges::find_if(
        a.history.openStops, [](const StopRecord& s) { return s.stop.cause == code(ReasonCode::ErrorCodes); });
    if (recent >= a.policy.errorCodes || held != a.history.openStops.end())
        a.add(ReasonCode::ErrorCodes, held != a.history.openStops.end() ? std::vector { held->seq } : std::vector<base::Seq>());
    auto unhandled = a.history.openNotices;
    for (const auto& stop : a.history.openStops)
        if (stop.stop.cause == code(ReasonCode::FieldNotice)) {
            a.add(ReasonCode::FieldNotice, { stop.seq, stop.stop.because });
            std::erase(unhandled, stop.stop.because);
        }
    for (const base::Seq notice : unhandled) // in whatever state the meter is: also one that was enrolled later
        a.add(ReasonCode::FieldNotice, { notice });
}

void assessDrift(Assessment& a)
{
    if (!a.history.newestCounted || a.history.newestCounted->judged.drift.flags.empty())
        return;
    const SetRecord& set = *a.history.newestCounted;
    const acts::DriftFinding& drift = set.judged.drift;
    Drifting facts { drift.flags, {}, {}, lotEffectOf(a.history.driftCompany, a.policy), drift.beyondHalfLimit };
    const auto worst = std::ranges::max_element(drift.bias, {}, [](const acts::LevelBias& b) { return std::abs(b.percent); });
    if (worst != drift.bias.end())
        facts.bias = *worst;
    if (drift.began)
        facts.began = a.zone.dateOf(*drift.began);
    const LotEffect effect = facts.effect;
    const bool blocks = a.policy.driftBlocks == DriftBlocks::Always
        || (a.policy.driftBlocks == DriftBlocks::HalfLimit && drift.beyondHalfLimit);
    a.add(Reason { ReasonCode::Drift, std::move(facts), blocks, { set.seq }, set.judged.lastAt });
    if (effect.finding == stats::DeviationFinding::Lot || effect.finding == stats::DeviationFinding::Both) {
        a.add(ReasonCode::LotEffect, { set.seq }, effect);
        a.then(StepKind::LookAtLotAndVials);
    }
    a.then(blocks ? StepKind::WithdrawAndTell : StepKind::FindDriftCause);
}

void assessLookbacks(Assessment& a)
{
    for (const auto& open : a.history.openLookbacks)
        a.add(ReasonCode::LookBackOpen, { open.seq }, WaitingLookback { a.onTheWall(open.lookback.from), a.onTheWall(open.lookback.to) });
    if (!a.history.openLookbacks.empty())
        a.then(StepKind::DecideLookback);
}

Advice advice(const Assessment& a)
{
    if (a.result.usable)
        return a.result.reasons.empty() ? Advice::Use : Advice::Check;
    Advice most = a.result.state == MeterState::Withdrawn ? Advice::Withdraw
        : a.result.state == MeterState::InService         ? Advice::Check
                                                          : Advice::Hold;
    for (const auto& reason : a.result.reasons)
        if (reason.blocks)
            most = std::max(most, rowOf(reason.code).advice);
    return most;
}

bool isAskedFor(const Assessment& a, StepKind step)
{
    return std::ranges::any_of(a.result.reasons,
        [&](const Reason& r) { return rowOf(r.code).step == step || (step == StepKind::LookItOver && rowOf(r.code).needsInspection); });
}

void thenControl(Assessment& a)
{
    if (a.result.state != MeterState::InService && a.result.state != MeterState::OnHold)
        return;
    const bool failed = a.standing(ReasonCode::ControlRejected) != nullptr;
    if (!a.history.ladder && !failed)
        return a.thenRun(StepKind::RunLevels);
    a.then(NextStep { StepKind::ClimbLadder, {}, {}, {}, a.history.ladder ? a.history.ladder->standing() : LadderStanding { 1, false } });
}

/// What brings a meter that may not be used nearer to use comes before what was due beside it.
void sayWhatToDo(Assessment& a)
{
    static constexpr StepKind kInOrder[] = { StepKind::CompareAgain, StepKind::OpenStripVial, StepKind::Clean, StepKind::LookItOver,
        StepKind::RunLevels, StepKind::Compare };
    std::vector<NextStep> later = std::move(a.result.next);
    a.result.next.clear();
    for (const StepKind step : kInOrder)
        if (isAskedFor(a, step))
            step == StepKind::RunLevels ? thenControl(a) : a.then(step);
    if (a.result.state == MeterState::OnHold
        && std::ranges::any_of(a.history.openStops, [](const StopRecord& s) { return s.stop.needsSignature; }))
        a.then(StepKind::RecordReturn);
    if (a.result.state == MeterState::Withdrawn)
        a.then(StepKind::DecideWithdrawn);
    for (auto& step : later)
        a.then(std::move(step));
}

void conclude(Assessment& a)
{
    std::ranges::stable_partition(a.result.reasons, [](const Reason& r) { return r.blocks; });
    const bool blocked = std::ranges::any_of(a.result.reasons, [](const Reason& r) { return r.blocks; });
    a.result.usable = a.result.state == MeterState::InService && !blocked;
    if (a.result.usable)
        a.result.until = a.ends;
    a.result.advice = advice(a);
    if (!a.result.usable)
        sayWhatToDo(a);
}

} // namespace

Fitness assess(const MeterHistory& history, const Policy& policy, base::Moment at, const Zone& zone)
{
    Assessment a { history, policy, at, zone };
    a.result.at = at;
    // The order in which reasons are listed.
    for (const auto look :
        { assessUse, assessState, assessIncidents, assessNewestSet, assessClearance, assessTransfer, assessStripVial, assessComparison,
            assessCalibration, assessEqa, assessCleaning, assessDrift, assessUsual, assessReserve, assessLookbacks, assessFirstUses })
        look(a);
    if (history.clockLeapt)
        a.add(ReasonCode::ClockSuspect, { *history.clockLeapt });
    conclude(a);
    return std::move(a.result);
}

} // namespace mk::registry
