// SPDX-License-Identifier: GPL-3.0-or-later
// Of what is owed by a date: comparison, calibration, proficiency, cleaning, the control of a meter in reserve.
#include "registry/meter/assessment.h"

#include "registry/comparison/eqa.h"

#include <algorithm>

namespace mk::registry {

void assessComparison(Assessment& a)
{
    if (a.history.newestPair && a.history.newestPair->judged.outcome == PairOutcome::Outside) {
        const auto& pair = *a.history.newestPair;
        FailedComparison failed { {}, pair.pair.meterResult, pair.pair.labResult, pair.judged.limits };
        if (a.history.newestRound && a.history.newestRound->used > 1)
            std::ranges::copy_if(
                a.history.newestRound->tiers, std::back_inserter(failed.shares), [](const TierShare& tier) { return !tier.met(); });
        a.add(ReasonCode::ComparisonFailed, { pair.seq }, std::move(failed));
    }
    if (a.history.newestRound && a.history.newestRound->biasBeyondHalfLimit)
        a.then(StepKind::LookAtStripLot);
    const base::Moment from = a.history.newestPassedPair
        ? std::max(a.history.newestPassedPair->pair.meterAt, a.history.newestPassedPair->pair.labAt)
        : a.history.meter.act.enrolled;
    const base::Seq evidence = a.history.newestPassedPair ? a.history.newestPassedPair->seq : a.history.meter.seq;
    const base::Moment due = later(from, a.policy.comparisonInterval, a.zone);
    a.endsAt(due);
    if (a.at >= due) {
        a.add(ReasonCode::ComparisonOverdue, { evidence }, a.overdue(due));
    } else if (a.at.utcMs >= due.utcMs - a.policy.comparisonDueDays * 24 * Assessment::kHour) {
        a.add(ReasonCode::ComparisonDue, { evidence }, DueAt { a.onTheWall(due) });
        a.then(StepKind::Compare, due);
    }
}

void assessCalibration(Assessment& a)
{
    std::optional<CalibrationRecord> passed;
    bool failed = false;
    for (const auto& each : a.history.calibrations) {
        failed = !each.passed;
        if (each.passed)
            passed = each;
    }
    if (failed) {
        a.add(ReasonCode::CalibrationFailed, { a.history.calibrations.back().seq });
        a.then(StepKind::MendCalibration);
    }
    if (!a.policy.calibrationInterval)
        return;
    const base::Moment due = later(passed ? passed->act.at : a.history.meter.act.enrolled, *a.policy.calibrationInterval, a.zone);
    const base::Seq evidence = passed ? passed->seq : a.history.meter.seq;
    a.endsAt(due);
    if (a.at >= due) {
        a.add(ReasonCode::CalibrationOverdue, { evidence }, a.overdue(due));
        a.then(StepKind::VerifyCalibration);
    } else if (a.at.utcMs >= due.utcMs - a.policy.dueSoonDays * 24 * Assessment::kHour) {
        a.add(ReasonCode::CalibrationDue, { evidence }, DueAt { a.onTheWall(due) });
        a.then(StepKind::VerifyCalibration, due);
    }
}

/// A proficiency sample waits, or was not returned in time: then the accuracy must be shown in another way (handbook 8.9).
void assessEqa(Assessment& a)
{
    for (const auto& sample : a.history.eqa) {
        const EqaJudged judged = judgeEqa(sample, a.at, a.zone);
        const acts::EqaReceived& received = sample.received.act;
        SampleOwed owed { received.scheme, received.event, received.sample, a.onTheWall(received.due), judged.band == EqaBand::Late };
        const bool shown = a.history.newestPassedPair && a.history.newestPassedPair->judged.at > received.due;
        if (judged.band == EqaBand::Waiting) {
            a.add(ReasonCode::EqaDue, { sample.received.seq }, std::move(owed));
            a.then(NextStep { StepKind::ReturnSample, received.due, {}, received.sample });
        } else if ((judged.band == EqaBand::Missing || judged.band == EqaBand::Late) && !shown) {
            a.add(ReasonCode::EqaMissing, { sample.received.seq }, std::move(owed));
            a.then(NextStep { StepKind::CompareInsteadOfSample, {}, {}, received.sample });
        }
    }
}

/// A meter in reserve is controlled now and then, so that it can be issued (handbook 4.1, D12).
void assessReserve(Assessment& a)
{
    if (a.result.state != MeterState::Reserve || !a.policy.reserveControlInterval)
        return;
    const base::Moment from = a.history.newestAccepted ? a.history.newestAccepted->judged.lastAt : a.history.meter.act.enrolled;
    const base::Moment due = later(from, *a.policy.reserveControlInterval, a.zone);
    if (a.at.utcMs >= due.utcMs - a.policy.dueSoonHours * Assessment::kHour)
        a.thenRun(StepKind::RunInReserve, due);
}

void assessCleaning(Assessment& a)
{
    const IncidentRecord* soiled = nullptr;
    const IncidentRecord* cleaned = nullptr;
    for (const auto& incident : a.history.cleanings)
        (incident.act.what == IncidentKind::Soiled ? soiled : cleaned) = &incident;
    if (soiled != nullptr && (cleaned == nullptr || cleaned->act.at < soiled->act.at))
        a.add(ReasonCode::CleaningOverdue, { soiled->seq });
    if (!a.policy.cleaningInterval)
        return;
    const base::Moment from = cleaned != nullptr ? cleaned->act.at : a.history.meter.act.enrolled;
    const base::Seq evidence = cleaned != nullptr ? cleaned->seq : a.history.meter.seq;
    const base::Moment due = later(from, *a.policy.cleaningInterval, a.zone);
    a.endsAt(due);
    if (a.at >= due)
        a.add(ReasonCode::CleaningOverdue, { evidence }, a.overdue(due));
    else if (a.at.utcMs >= due.utcMs - a.policy.dueSoonHours * Assessment::kHour)
        a.add(ReasonCode::CleaningDue, { evidence }, DueAt { a.onTheWall(due) });
}

} // namespace mk::registry
