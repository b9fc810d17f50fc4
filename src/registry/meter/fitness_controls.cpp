// SPDX-License-Identifier: GPL-3.0-or-later
// Of the controls and what they are run with: does the newest set speak for the meter, until when, on which vials and lots?
#include "registry/meter/assessment.h"

#include "registry/lots/expiry.h"
#include "registry/meter/new_material.h"

#include <algorithm>

namespace mk::registry {

namespace {

bool newestOfLevel(const SetRecord& set, std::size_t at)
{
    return std::none_of(set.runs.begin() + static_cast<std::ptrdiff_t>(at) + 1, set.runs.end(),
        [&](const RunRecord& later) { return later.run.level == set.runs[at].run.level; });
}

FailedLevel failedLevel(const RunRecord& record)
{
    FailedLevel failed { record.run.level, record.run.result, record.run.unit, {}, {}, record.judged.rules };
    const auto* number = std::get_if<base::Decimal>(&record.run.result);
    if (number != nullptr && record.judged.inRange == false && record.judged.low && record.judged.high)
        (*number > *record.judged.high ? failed.above : failed.below) = *number > *record.judged.high ? record.judged.high
                                                                                                      : record.judged.low;
    return failed;
}

FailedControl failedControl(const Assessment& a, const SetRecord& set)
{
    FailedControl failed;
    for (std::size_t i = 0; i < set.runs.size(); ++i)
        if (set.runs[i].judged.verdict == Verdict::Rejected && newestOfLevel(set, i))
            failed.levels.push_back(failedLevel(set.runs[i]));
    if (a.history.ladder && a.history.ladder->step > 1)
        failed.ladder = a.history.ladder->standing();
    return failed;
}

/// Levels that lack a result altogether, or outside the window, or with an error code.
std::vector<Level> missingLevels(const Assessment& a, const SetRecord& set)
{
    if (isAccepted(set.judged.verdict))
        return {}; // whole by the policy that judged it, whatever a later one asks
    std::vector<Level> missing;
    for (const Level level : a.policy.requiredLevels) {
        bool answered = false;
        for (std::size_t i = 0; i < set.runs.size(); ++i) {
            const RunRecord& record = set.runs[i];
            if (record.run.level != level || !newestOfLevel(set, i))
                continue;
            const bool inWindow = record.run.at.utcMs >= set.judged.lastAt.utcMs - a.policy.setWindowMinutes * std::int64_t { 60'000 };
            const bool sameLot = record.judged.stripLot == set.runs.back().judged.stripLot;
            answered = record.judged.verdict != Verdict::Partial
                && (record.judged.verdict == Verdict::Rejected || record.judged.verdict == Verdict::Invalid || (inWindow && sameLot));
        }
        if (!answered)
            missing.push_back(level);
    }
    return missing;
}

} // namespace

void assessNewestSet(Assessment& a)
{
    if (!a.history.newestSet)
        return;
    const SetRecord set = setUpTo(*a.history.newestSet, a.at, a.policy);
    std::vector<base::Seq> evidence;
    for (const auto& run : set.runs)
        evidence.push_back(run.seq);
    evidence.push_back(set.seq);
    if (set.judged.verdict == Verdict::Rejected)
        a.add(ReasonCode::ControlRejected, evidence, failedControl(a, set), set.judged.lastAt);
    for (std::size_t i = 0; i < set.runs.size(); ++i) {
        if (set.runs[i].judged.valid || !newestOfLevel(set, i))
            continue;
        a.add(ReasonCode::RunInvalid, { set.runs[i].seq, set.seq }, LevelsToRun { a.required() }, set.judged.lastAt);
        for (const auto& cause : set.runs[i].judged.invalidBecause)
            if (const auto known = reasonOf(cause)) // one of a later version: run-invalid stands for it
                a.add(*known, { set.runs[i].seq, set.seq });
    }
    if (std::vector<Level> missing = missingLevels(a, set); !missing.empty())
        a.add(ReasonCode::SetPartial, evidence, MissingLevels { std::move(missing), a.required() }, set.judged.lastAt);
}

void assessClearance(Assessment& a)
{
    if (!a.history.newestAccepted) {
        a.add(ReasonCode::NoControlYet, { a.history.meter.seq }, LevelsToRun { a.required() });
        return;
    }
    const SetRecord& set = *a.history.newestAccepted;
    const base::Moment until = clearedUntil(set, a.policy, a.zone);
    const bool issuedSince = !a.history.issuedOnEvidence && a.history.state && a.history.state->state == MeterState::InService
        && a.history.state->before == MeterState::Reserve && set.judged.lastAt < a.history.state->since;
    if (issuedSince) {
        a.add(ReasonCode::ControlOverdue, { a.history.state->seq }, IssuedUncontrolled { a.required() }, until);
        return;
    }
    a.endsAt(until);
    if (a.history.revoked) {
        a.add(ReasonCode::LotQuarantined, a.history.revoked->evidence, ClearanceLost { *a.history.revoked, a.required() });
        a.thenRun(StepKind::RunOnOtherMaterials);
    }
    if (a.at >= until) {
        a.add(ReasonCode::ControlOverdue, { set.seq }, a.overdue(until, a.required()), until);
    } else if (a.at.utcMs >= until.utcMs - a.policy.dueSoonHours * Assessment::kHour) {
        a.add(ReasonCode::ControlDue, { set.seq }, DueAt { a.onTheWall(until) });
        a.thenRun(StepKind::RunLevels, until);
    }
}

void assessTransfer(Assessment& a)
{
    if (!a.history.transfer)
        return;
    const TransferRecord& transfer = *a.history.transfer;
    if (!transfer.confirmedBy)
        a.then(NextStep { StepKind::ConfirmArrival, {}, {}, transfer.to.value });
    const bool controlled = a.history.newestAccepted && clearsSince(*a.history.newestAccepted) >= transfer.at;
    if (a.policy.controlAfterTransfer && !controlled)
        a.add(ReasonCode::Transferred, { transfer.seq }, MovedUncontrolled { transfer.from, transfer.to, a.required() });
}

void assessStripVial(Assessment& a)
{
    if (!a.history.newestSet || !a.history.stripVial)
        return;
    const StripVialRecord& vial = *a.history.stripVial;
    const StripLotRecord* lot = a.history.stripLot ? &*a.history.stripLot : nullptr;
    const bool ended = vial.ended && vial.ended->act.at <= a.at;
    if (ended && a.history.otherStripVialOpen)
        return;
    const auto expiry = lot == nullptr ? std::nullopt : effectiveExpiry(lot->lot.expiry, vial.vial.opened, lot->lot.openPeriod, a.zone);
    const auto ends = expiry ? std::optional(a.zone.endOf(expiry->lastDay)) : std::nullopt;
    for (const ReasonCode code : againstStripVial(&vial, lot, a.at, a.zone)) {
        ReasonFacts facts;
        if (code == ReasonCode::StripVialExpired && vial.vial.opened && lot != nullptr && lot->lot.openPeriod)
            facts = VialRanOut { vial.vial.vial.value, base::lastUsableDay(a.zone.dateOf(*vial.vial.opened), *lot->lot.openPeriod) };
        const bool byTime = code == ReasonCode::StripExpired || code == ReasonCode::StripVialExpired;
        a.add(code, { vial.seq }, std::move(facts), byTime ? ends : std::nullopt);
    }
    if (ends)
        a.endsAt(*ends);
}

/// What comes into use asks for a control before the meter takes strips from it. Where a control is owed anyway it is run on what
/// stands open, and nothing more is asked.
void assessFirstUses(Assessment& a)
{
    static constexpr ReasonCode kOwedAnyway[] = { ReasonCode::NoControlYet, ReasonCode::ControlOverdue, ReasonCode::ControlRejected,
        ReasonCode::SetPartial, ReasonCode::RunInvalid, ReasonCode::Transferred, ReasonCode::LotQuarantined };
    if (a.result.state != MeterState::InService || std::ranges::any_of(kOwedAnyway, [&](ReasonCode c) { return a.standing(c) != nullptr; }))
        return;
    for (const auto& use : firstUses(a.history, a.policy, a.at)) {
        const acts::StripVialOpened& vial = use.vial->vial.vial;
        const bool lot = use.of == FirstUse::Of::StripLot;
        const NewMaterial material { vial.vial.value, lot ? vial.lot.value : std::string() };
        if (use.blocks)
            a.add(lot ? ReasonCode::NewStripLot : ReasonCode::NewStripVial, { use.vial->vial.seq }, NewOnMeter { material, a.required() });
        else if (use.byInsert)
            a.then(NextStep { StepKind::LookInInsert, {}, {}, {}, {}, material });
        else
            a.then(NextStep { StepKind::RunOnNewMaterial, {}, a.required(), {}, {}, material });
    }
}

} // namespace mk::registry
