// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/fitness.h"

#include "registry/control/control_set.h"
#include "registry/comparison/eqa.h"
#include "registry/lots/expiry.h"
#include "registry/lots/lot_effect.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/new_material.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

namespace {

constexpr std::int64_t kHour = 3'600'000;

class Assessor {
public:
    Assessor(const MeterHistory& history, const Policy& policy, base::Moment at, const Zone& zone)
        : m_history(history),
          m_policy(policy),
          m_at(at),
          m_zone(zone)
    {
        m_result.at = at;
    }

    Fitness run()
    {
        assessUse();
        assessState();
        assessIncidents();
        assessNewestSet();
        assessClearance();
        assessTransfer();
        assessStripVial();
        assessComparison();
        assessCalibration();
        assessEqa();
        assessCleaning();
        assessDrift();
        assessReserve();
        assessLookbacks();
        assessFirstUses();
        assessUnprovenControlVials();
        if (m_history.clockLeapt)
            add(ReasonCode::ClockSuspect, { *m_history.clockLeapt });
        conclude();
        return std::move(m_result);
    }

private:
    /// A code that stands already keeps what it said first, and gains evidence.
    void add(Reason reason)
    {
        const auto same = std::ranges::find(m_result.reasons, reason.code, &Reason::code);
        if (same == m_result.reasons.end()) {
            m_result.reasons.push_back(std::move(reason));
            return;
        }
        same->blocks = same->blocks || reason.blocks;
        same->since = reason.since ? reason.since : same->since;
        for (const auto seq : reason.evidence)
            if (std::ranges::find(same->evidence, seq) == same->evidence.end())
                same->evidence.push_back(seq);
    }
    void add(ReasonCode code, std::vector<base::Seq> evidence, ReasonFacts facts = {}, std::optional<base::Moment> since = std::nullopt)
    {
        add({ code, std::move(facts), rowOf(code).blocks == Blocks::Always, std::move(evidence), since });
    }
    const Reason* standing(ReasonCode code) const
    {
        const auto found = std::ranges::find(m_result.reasons, code, &Reason::code);
        return found == m_result.reasons.end() ? nullptr : &*found;
    }
    void endsAt(base::Moment moment) { m_ends = m_ends ? std::min(*m_ends, moment) : moment; }
    void then(NextStep step)
    {
        if (std::ranges::none_of(m_result.next, [&](const NextStep& other) { return other.same(step); }))
            m_result.next.push_back(std::move(step));
    }
    void then(StepKind what, std::optional<base::Moment> by = std::nullopt) { then(NextStep { what, by }); }
    void thenRun(StepKind what, std::optional<base::Moment> by = std::nullopt) { then(NextStep { what, by, required() }); }
    base::Moment onTheWall(base::Moment moment) const { return m_zone.at(moment.utcMs); }
    const std::vector<Level>& required() const { return m_policy.requiredLevels; }

    void assessUse()
    {
        if (!m_history.model || m_history.model->act.sharedUse != YesNo::Yes) {
            add(ReasonCode::NotForSharedUse, { m_history.model ? m_history.model->seq : m_history.meter.seq });
            then(StepKind::AskWhetherShared);
        }
    }

    void assessState()
    {
        if (!m_history.state) {
            m_result.state = MeterState::Received;
            add(ReasonCode::NotInService, { m_history.meter.seq }, NotYetInService {});
            return;
        }
        m_result.state = m_history.state->state;
        m_result.stateSince = m_history.state->since;
        if (m_result.state == MeterState::InService)
            return;
        std::vector<base::Seq> evidence { m_history.state->seq };
        for (const auto& stop : m_history.openStops)
            if (stop.seq != m_history.state->seq)
                evidence.push_back(stop.seq);
        const bool endsByItself = std::ranges::all_of(m_history.openStops, [](const StopRecord& s) { return !s.stop.needsSignature; });
        add(ReasonCode::NotInService, evidence, OutOfService { m_result.state, onTheWall(m_history.state->since), endsByItself });
        for (const auto& stop : m_history.openStops)
            if (stop.stop.cause == code(ReasonCode::LadderExhausted))
                add(ReasonCode::LadderExhausted, { stop.seq });
    }

    void assessIncidents()
    {
        const auto lastAccepted = m_history.newestAccepted ? std::optional(clearsSince(*m_history.newestAccepted)) : std::nullopt;
        for (const auto& incident : m_history.incidents) {
            const IncidentEffect& effect = effectOf(incident.act.what);
            if (!effect.reason)
                continue;
            const bool uncleared = effect.cancelsClearance && (!lastAccepted || *lastAccepted <= incident.act.at);
            const auto stop = std::ranges::find_if(
                m_history.openStops, [&](const StopRecord& s) { return s.stop.because == incident.seq; });
            if (uncleared || stop != m_history.openStops.end())
                add(*effect.reason, { incident.seq }, {}, incident.act.at);
        }
        const std::int64_t from = m_at.utcMs - m_policy.errorCodeHours * kHour;
        const auto recent = std::ranges::count_if(m_history.errorCodes, [&](base::Moment at) { return at.utcMs > from; });
        const auto held = std::ranges::find_if(
            m_history.openStops, [](const StopRecord& s) { return s.stop.cause == code(ReasonCode::ErrorCodes); });
        if (recent >= m_policy.errorCodes || held != m_history.openStops.end())
            add(ReasonCode::ErrorCodes, held != m_history.openStops.end() ? std::vector { held->seq } : std::vector<base::Seq>());
        for (const auto& stop : m_history.openStops)
            if (stop.stop.cause == code(ReasonCode::FieldNotice))
                add(ReasonCode::FieldNotice, { stop.seq, stop.stop.because });
    }

    void assessNewestSet()
    {
        if (!m_history.newestSet)
            return;
        const SetRecord set = setUpTo(*m_history.newestSet, m_at, m_policy);
        std::vector<base::Seq> evidence;
        for (const auto& run : set.runs)
            evidence.push_back(run.seq);
        evidence.push_back(set.seq);
        if (set.judged.verdict == Verdict::Rejected)
            add(ReasonCode::ControlRejected, evidence, failedControl(set), set.judged.lastAt);
        for (std::size_t i = 0; i < set.runs.size(); ++i) {
            if (set.runs[i].judged.valid || !newestOfLevel(set, i))
                continue;
            add(ReasonCode::RunInvalid, { set.runs[i].seq, set.seq }, LevelsToRun { required() }, set.judged.lastAt);
            for (const auto& cause : set.runs[i].judged.invalidBecause)
                if (const auto known = reasonOf(cause)) // one of a later version: run-invalid stands for it
                    add(*known, { set.runs[i].seq, set.seq });
        }
        if (std::vector<Level> missing = missingLevels(set); !missing.empty())
            add(ReasonCode::SetPartial, evidence, MissingLevels { std::move(missing), required() }, set.judged.lastAt);
    }

    static bool newestOfLevel(const SetRecord& set, std::size_t at)
    {
        return std::none_of(set.runs.begin() + static_cast<std::ptrdiff_t>(at) + 1, set.runs.end(),
            [&](const RunRecord& later) { return later.run.level == set.runs[at].run.level; });
    }

    static FailedLevel failedLevel(const RunRecord& record)
    {
        FailedLevel failed { record.run.level, record.run.result, record.run.unit, {}, {}, record.judged.rules };
        const auto* number = std::get_if<base::Decimal>(&record.run.result);
        if (number != nullptr && record.judged.inRange == false && record.judged.low && record.judged.high)
            (*number > *record.judged.high ? failed.above : failed.below) = *number > *record.judged.high ? record.judged.high
                                                                                                          : record.judged.low;
        return failed;
    }

    FailedControl failedControl(const SetRecord& set) const
    {
        FailedControl failed;
        for (std::size_t i = 0; i < set.runs.size(); ++i)
            if (set.runs[i].judged.verdict == Verdict::Rejected && newestOfLevel(set, i))
                failed.levels.push_back(failedLevel(set.runs[i]));
        if (m_history.ladder && m_history.ladder->step > 1)
            failed.ladder = m_history.ladder;
        return failed;
    }

    /// Levels that lack a result altogether, or outside the window, or with an error code.
    std::vector<Level> missingLevels(const SetRecord& set) const
    {
        if (set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned)
            return {}; // whole by the policy that judged it, whatever a later one asks
        std::vector<Level> missing;
        for (const Level level : m_policy.requiredLevels) {
            bool answered = false;
            for (std::size_t i = 0; i < set.runs.size(); ++i) {
                const RunRecord& record = set.runs[i];
                if (record.run.level != level || !newestOfLevel(set, i))
                    continue;
                const bool inWindow = record.run.at.utcMs >= set.judged.lastAt.utcMs - m_policy.setWindowMinutes * std::int64_t { 60'000 };
                const bool sameLot = record.judged.stripLot == set.runs.back().judged.stripLot;
                answered = record.judged.verdict != Verdict::Partial
                    && (record.judged.verdict == Verdict::Rejected || record.judged.verdict == Verdict::Invalid || (inWindow && sameLot));
            }
            if (!answered)
                missing.push_back(level);
        }
        return missing;
    }

    void assessClearance()
    {
        if (!m_history.newestAccepted) {
            add(ReasonCode::NoControlYet, { m_history.meter.seq }, LevelsToRun { required() });
            return;
        }
        const SetRecord& set = *m_history.newestAccepted;
        const base::Moment until = clearedUntil(set.judged.lastAt, m_policy, m_zone);
        const bool issuedSince = !m_history.issuedOnEvidence && m_history.state && m_history.state->state == MeterState::InService
            && m_history.state->before == MeterState::Reserve && set.judged.lastAt < m_history.state->since;
        if (issuedSince) {
            add(ReasonCode::ControlOverdue, { m_history.state->seq }, IssuedUncontrolled { required() }, until);
            return;
        }
        endsAt(until);
        if (m_history.revoked) {
            add(ReasonCode::LotQuarantined, m_history.revoked->evidence, ClearanceLost { *m_history.revoked, required() });
            thenRun(StepKind::RunOnOtherMaterials);
        }
        if (m_at >= until) {
            add(ReasonCode::ControlOverdue, { set.seq }, overdue(until, required()), until);
        } else if (m_at.utcMs >= until.utcMs - m_policy.dueSoonHours * kHour) {
            add(ReasonCode::ControlDue, { set.seq }, DueAt { onTheWall(until) });
            thenRun(StepKind::RunLevels, until);
        }
    }

    void assessTransfer()
    {
        if (!m_history.transfer)
            return;
        const TransferRecord& transfer = *m_history.transfer;
        if (!transfer.confirmedBy)
            then(NextStep { StepKind::ConfirmArrival, {}, {}, transfer.to.value });
        const bool controlled = m_history.newestAccepted && clearsSince(*m_history.newestAccepted) >= transfer.at;
        if (m_policy.controlAfterTransfer && !controlled)
            add(ReasonCode::Transferred, { transfer.seq }, MovedUncontrolled { transfer.from, transfer.to, required() });
    }

    /// A policy that came into force later never made yesterday unfit: then it is said by which rule it is overdue.
    Overdue overdue(base::Moment due, std::vector<Level> toRun = {}) const
    {
        Overdue overdue { onTheWall(due), {}, std::move(toRun) };
        if (m_policy.since && due < *m_policy.since)
            overdue.policySince = onTheWall(*m_policy.since);
        return overdue;
    }

    void assessStripVial()
    {
        if (!m_history.newestSet || !m_history.stripVial)
            return;
        const StripVialRecord& vial = *m_history.stripVial;
        const StripLotRecord* lot = m_history.stripLot ? &*m_history.stripLot : nullptr;
        const bool ended = vial.ended && vial.ended->act.at <= m_at;
        if (ended && m_history.otherStripVialOpen)
            return;
        const auto expiry = lot == nullptr ? std::nullopt : effectiveExpiry(lot->lot.expiry, vial.vial.opened, lot->lot.openPeriod, m_zone);
        const auto ends = expiry ? std::optional(m_zone.endOf(expiry->lastDay)) : std::nullopt;
        for (const ReasonCode code : againstStripVial(&vial, lot, m_at, m_zone)) {
            ReasonFacts facts;
            if (code == ReasonCode::StripVialExpired && vial.vial.opened && lot != nullptr && lot->lot.openPeriod)
                facts = VialRanOut { vial.vial.vial.value, base::lastUsableDay(m_zone.dateOf(*vial.vial.opened), *lot->lot.openPeriod) };
            const bool byTime = code == ReasonCode::StripExpired || code == ReasonCode::StripVialExpired;
            add(code, { vial.seq }, std::move(facts), byTime ? ends : std::nullopt);
        }
        if (ends)
            endsAt(*ends);
    }

    void assessComparison()
    {
        if (m_history.newestPair && m_history.newestPair->judged.outcome == PairOutcome::Outside) {
            const auto& pair = *m_history.newestPair;
            FailedComparison failed { {}, pair.pair.meterResult, pair.pair.labResult, pair.judged.limits };
            if (m_history.newestRound && m_history.newestRound->used > 1)
                std::ranges::copy_if(
                    m_history.newestRound->tiers, std::back_inserter(failed.shares), [](const TierShare& tier) { return !tier.met(); });
            add(ReasonCode::ComparisonFailed, { pair.seq }, std::move(failed));
        }
        if (m_history.newestRound && m_history.newestRound->biasBeyondHalfLimit)
            then(StepKind::LookAtStripLot);
        const base::Moment from = m_history.newestPassedPair
            ? std::max(m_history.newestPassedPair->pair.meterAt, m_history.newestPassedPair->pair.labAt)
            : m_history.meter.act.enrolled;
        const base::Seq evidence = m_history.newestPassedPair ? m_history.newestPassedPair->seq : m_history.meter.seq;
        const base::Moment due = later(from, m_policy.comparisonInterval, m_zone);
        endsAt(due);
        if (m_at >= due) {
            add(ReasonCode::ComparisonOverdue, { evidence }, overdue(due));
        } else if (m_at.utcMs >= due.utcMs - m_policy.comparisonDueDays * 24 * kHour) {
            add(ReasonCode::ComparisonDue, { evidence }, DueAt { onTheWall(due) });
            then(StepKind::Compare, due);
        }
    }

    void assessCalibration()
    {
        std::optional<CalibrationRecord> passed;
        bool failed = false;
        for (const auto& each : m_history.calibrations) {
            failed = !each.passed;
            if (each.passed)
                passed = each;
        }
        if (failed) {
            add(ReasonCode::CalibrationFailed, { m_history.calibrations.back().seq });
            then(StepKind::MendCalibration);
        }
        if (!m_policy.calibrationInterval)
            return;
        const base::Moment due = later(passed ? passed->act.at : m_history.meter.act.enrolled, *m_policy.calibrationInterval, m_zone);
        const base::Seq evidence = passed ? passed->seq : m_history.meter.seq;
        endsAt(due);
        if (m_at >= due) {
            add(ReasonCode::CalibrationOverdue, { evidence }, overdue(due));
            then(StepKind::VerifyCalibration);
        } else if (m_at.utcMs >= due.utcMs - m_policy.dueSoonDays * 24 * kHour) {
            add(ReasonCode::CalibrationDue, { evidence }, DueAt { onTheWall(due) });
            then(StepKind::VerifyCalibration, due);
        }
    }

    /// A proficiency sample waits, or was not returned in time: then the accuracy must be shown in another way (handbook 8.9).
    void assessEqa()
    {
        for (const auto& sample : m_history.eqa) {
            const EqaJudged judged = judgeEqa(sample, m_at);
            const acts::EqaReceived& received = sample.received.act;
            SampleOwed owed { received.scheme, received.event, received.sample, onTheWall(received.due), judged.band == EqaBand::Late };
            const bool shown = m_history.newestPassedPair && m_history.newestPassedPair->judged.at > received.due;
            if (judged.band == EqaBand::Waiting) {
                add(ReasonCode::EqaDue, { sample.received.seq }, std::move(owed));
                then(NextStep { StepKind::ReturnSample, received.due, {}, received.sample });
            } else if ((judged.band == EqaBand::Missing || judged.band == EqaBand::Late) && !shown) {
                add(ReasonCode::EqaMissing, { sample.received.seq }, std::move(owed));
                then(NextStep { StepKind::CompareInsteadOfSample, {}, {}, received.sample });
            }
        }
    }

    /// A meter in reserve is controlled now and then, so that it can be issued (handbook 4.1, D12).
    void assessReserve()
    {
        if (m_result.state != MeterState::Reserve || !m_policy.reserveControlInterval)
            return;
        const base::Moment from = m_history.newestAccepted ? m_history.newestAccepted->judged.lastAt : m_history.meter.act.enrolled;
        const base::Moment due = later(from, *m_policy.reserveControlInterval, m_zone);
        if (m_at.utcMs >= due.utcMs - m_policy.dueSoonHours * kHour)
            thenRun(StepKind::RunInReserve, due);
    }

    void assessCleaning()
    {
        const IncidentRecord* soiled = nullptr;
        const IncidentRecord* cleaned = nullptr;
        for (const auto& incident : m_history.cleanings)
            (incident.act.what == IncidentKind::Soiled ? soiled : cleaned) = &incident;
        if (soiled != nullptr && (cleaned == nullptr || cleaned->act.at < soiled->act.at))
            add(ReasonCode::CleaningOverdue, { soiled->seq });
        if (!m_policy.cleaningInterval)
            return;
        const base::Moment from = cleaned != nullptr ? cleaned->act.at : m_history.meter.act.enrolled;
        const base::Seq evidence = cleaned != nullptr ? cleaned->seq : m_history.meter.seq;
        const base::Moment due = later(from, *m_policy.cleaningInterval, m_zone);
        endsAt(due);
        if (m_at >= due)
            add(ReasonCode::CleaningOverdue, { evidence }, overdue(due));
        else if (m_at.utcMs >= due.utcMs - m_policy.dueSoonHours * kHour)
            add(ReasonCode::CleaningDue, { evidence }, DueAt { onTheWall(due) });
    }

    void assessDrift()
    {
        if (!m_history.newestCounted || m_history.newestCounted->judged.drift.flags.empty())
            return;
        const SetRecord& set = *m_history.newestCounted;
        const acts::DriftFinding& drift = set.judged.drift;
        Drifting facts { drift.flags, {}, {}, lotEffectOf(m_history.driftCompany, m_policy), drift.beyondHalfLimit };
        const auto worst = std::ranges::max_element(drift.bias, {}, [](const acts::LevelBias& b) { return std::abs(b.percent); });
        if (worst != drift.bias.end())
            facts.bias = *worst;
        if (drift.began)
            facts.began = m_zone.dateOf(*drift.began);
        const LotEffect effect = facts.effect;
        const bool blocks = m_policy.driftBlocks == DriftBlocks::Always
            || (m_policy.driftBlocks == DriftBlocks::HalfLimit && drift.beyondHalfLimit);
        add(Reason { ReasonCode::Drift, std::move(facts), blocks, { set.seq }, set.judged.lastAt });
        if (effect.finding == stats::DeviationFinding::Lot || effect.finding == stats::DeviationFinding::Both) {
            add(ReasonCode::LotEffect, { set.seq }, effect);
            then(StepKind::LookAtLotAndVials);
        }
        then(blocks ? StepKind::WithdrawAndTell : StepKind::FindDriftCause);
    }

    void assessLookbacks()
    {
        for (const auto& open : m_history.openLookbacks)
            add(ReasonCode::LookBackOpen, { open.seq }, WaitingLookback { onTheWall(open.lookback.from), onTheWall(open.lookback.to) });
        if (!m_history.openLookbacks.empty())
            then(StepKind::DecideLookback);
    }

    /// What comes into use asks for a control before the meter takes strips from it. Where a control is owed anyway it is run on what
    /// stands open, and nothing more is asked.
    void assessFirstUses()
    {
        static constexpr ReasonCode kOwedAnyway[] = { ReasonCode::NoControlYet, ReasonCode::ControlOverdue, ReasonCode::ControlRejected,
            ReasonCode::SetPartial, ReasonCode::RunInvalid, ReasonCode::Transferred, ReasonCode::LotQuarantined };
        if (m_result.state != MeterState::InService
            || std::ranges::any_of(kOwedAnyway, [&](ReasonCode c) { return standing(c) != nullptr; }))
            return;
        for (const auto& use : firstUses(m_history, m_policy, m_at)) {
            const acts::StripVialOpened& vial = use.vial->vial.vial;
            const bool lot = use.of == FirstUse::Of::StripLot;
            const NewMaterial material { vial.vial.value, lot ? vial.lot.value : std::string() };
            if (use.blocks)
                add(lot ? ReasonCode::NewStripLot : ReasonCode::NewStripVial, { use.vial->vial.seq }, NewOnMeter { material, required() });
            else if (use.byInsert)
                then(NextStep { StepKind::LookInInsert, {}, {}, {}, {}, material });
            else
                then(NextStep { StepKind::RunOnNewMaterial, {}, required(), {}, {}, material });
        }
    }

    /// Where the policy asks. It says something of the control vial, not of the meter, and so stops none.
    void assessUnprovenControlVials()
    {
        for (const auto& unproven : m_history.unprovenControlVials) {
            const std::string id = unproven.vial.vial.vial.value;
            add(ReasonCode::ControlVialNotBeside, { unproven.vial.seq }, VialNotBeside { id, unproven.level });
            if (!unproven.older.empty())
                then(NextStep { StepKind::RunBesideOlder, {}, {}, unproven.older.front().value, {}, NewMaterial { id, {} } });
        }
    }

    void conclude()
    {
        std::ranges::stable_partition(m_result.reasons, [](const Reason& r) { return r.blocks; });
        const bool blocked = std::ranges::any_of(m_result.reasons, [](const Reason& r) { return r.blocks; });
        m_result.usable = m_result.state == MeterState::InService && !blocked;
        if (m_result.usable)
            m_result.until = m_ends;
        m_result.advice = advice();
        if (!m_result.usable)
            sayWhatToDo();
    }

    Advice advice() const
    {
        if (m_result.usable)
            return m_result.reasons.empty() ? Advice::Use : Advice::Check;
        Advice most = m_result.state == MeterState::Withdrawn ? Advice::Withdraw
            : m_result.state == MeterState::InService         ? Advice::Check
                                                              : Advice::Hold;
        for (const auto& reason : m_result.reasons)
            if (reason.blocks)
                most = std::max(most, rowOf(reason.code).advice);
        return most;
    }

    bool isAskedFor(StepKind step) const
    {
        return std::ranges::any_of(m_result.reasons,
            [&](const Reason& r) { return rowOf(r.code).step == step || (step == StepKind::LookItOver && rowOf(r.code).needsInspection); });
    }

    void thenControl()
    {
        if (m_result.state != MeterState::InService && m_result.state != MeterState::OnHold)
            return;
        const bool failed = standing(ReasonCode::ControlRejected) != nullptr;
        if (!m_history.ladder && !failed)
            return thenRun(StepKind::RunLevels);
        then(NextStep { StepKind::ClimbLadder, {}, {}, {}, m_history.ladder.value_or(LadderStanding { 1, false }) });
    }

    /// What brings a meter that may not be used nearer to use comes before what was due beside it.
    void sayWhatToDo()
    {
        static constexpr StepKind kInOrder[] = { StepKind::CompareAgain, StepKind::OpenStripVial, StepKind::Clean, StepKind::LookItOver,
            StepKind::RunLevels, StepKind::Compare };
        std::vector<NextStep> later = std::move(m_result.next);
        m_result.next.clear();
        for (const StepKind step : kInOrder)
            if (isAskedFor(step))
                step == StepKind::RunLevels ? thenControl() : then(step);
        if (m_result.state == MeterState::OnHold
            && std::ranges::any_of(m_history.openStops, [](const StopRecord& s) { return s.stop.needsSignature; }))
            then(StepKind::RecordReturn);
        if (m_result.state == MeterState::Withdrawn)
            then(StepKind::DecideWithdrawn);
        for (auto& step : later)
            then(std::move(step));
    }

    const MeterHistory& m_history;
    const Policy& m_policy;
    base::Moment m_at;
    const Zone& m_zone;
    Fitness m_result;
    std::optional<base::Moment> m_ends;
};

} // namespace

Fitness assess(const MeterHistory& history, const Policy& policy, base::Moment at, const Zone& zone)
{
    return Assessor(history, policy, at, zone).run();
}

} // namespace mk::registry
