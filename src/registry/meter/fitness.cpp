// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/fitness.h"

#include "base/number_text.h"
#include "registry/control/control_set.h"
#include "registry/comparison/eqa.h"
#include "registry/lots/expiry.h"
#include "registry/meter/fitness_words.h"
#include "registry/lots/lot_effect.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/new_material.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

namespace {

constexpr std::int64_t kHour = 3'600'000;

std::string signedNumber(double value, int decimals)
{
    return (std::signbit(value) ? "" : "+") + base::fixedText(value, decimals);
}

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
            add("clock-suspect", "The workstation's clock leapt forward. Check it before you believe what is overdue or expired.", false,
                { *m_history.clockLeapt });
        conclude();
        return std::move(m_result);
    }

private:
    void add(std::string code, std::string text, bool blocks, std::vector<base::Seq> evidence)
    {
        const auto same = std::ranges::find(m_result.reasons, code, &Reason::code);
        if (same == m_result.reasons.end()) {
            m_result.reasons.push_back({ std::move(code), std::move(text), blocks, std::move(evidence) });
            return;
        }
        same->blocks = same->blocks || blocks;
        for (const auto seq : evidence)
            if (std::ranges::find(same->evidence, seq) == same->evidence.end())
                same->evidence.push_back(seq);
    }
    bool stands(std::string_view code) const { return std::ranges::find(m_result.reasons, code, &Reason::code) != m_result.reasons.end(); }
    void endsAt(base::Moment moment) { m_ends = m_ends ? std::min(*m_ends, moment) : moment; }
    void then(std::string what, std::optional<base::Moment> by = std::nullopt)
    {
        if (std::ranges::find(m_result.next, what, &NextStep::what) == m_result.next.end())
            m_result.next.push_back({ std::move(what), by });
    }

    void assessUse()
    {
        if (!m_history.model || m_history.model->act.sharedUse != YesNo::Yes) {
            add("not-for-shared-use",
                "Its model is not on record as cleared for use on several patients. Do not share it; ask the coordinator.", true,
                m_history.model ? std::vector { m_history.model->seq } : std::vector { m_history.meter.seq });
            then("Ask the coordinator whether this model may be shared");
        }
    }

    void assessState()
    {
        if (!m_history.state) {
            m_result.state = MeterState::Received;
            add("not-in-service", "It was not yet in service then.", true, { m_history.meter.seq });
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
        add("not-in-service", stateInWords(m_result.state, inWords(m_history.state->since, m_zone), endsByItself), true, evidence);
        for (const auto& stop : m_history.openStops)
            if (stop.stop.cause == "ladder-exhausted")
                add("ladder-exhausted",
                    "Its controls failed with a new strip, a new control vial and a new strip vial. Keep it out of use and label it; the coordinator decides.",
                    true, { stop.seq });
    }

    void assessIncidents()
    {
        const auto lastAccepted = m_history.newestAccepted ? std::optional(clearsSince(*m_history.newestAccepted)) : std::nullopt;
        for (const auto& incident : m_history.incidents) {
            const IncidentEffect effect = effectOf(incident.act.what);
            if (effect.code.empty())
                continue;
            const bool uncleared = effect.cancelsClearance && (!lastAccepted || *lastAccepted <= incident.act.at);
            const auto stop = std::ranges::find_if(
                m_history.openStops, [&](const StopRecord& s) { return s.stop.because == incident.seq; });
            if (uncleared || stop != m_history.openStops.end())
                add(std::string(effect.code), incidentInWords(effect.code), true, { incident.seq });
        }
        const std::int64_t from = m_at.utcMs - m_policy.errorCodeHours * kHour;
        const auto recent = std::ranges::count_if(m_history.errorCodes, [&](base::Moment at) { return at.utcMs > from; });
        const auto held = std::ranges::find(
            m_history.openStops, std::string("error-codes"), [](const StopRecord& s) { return s.stop.cause; });
        if (recent >= m_policy.errorCodes || held != m_history.openStops.end())
            add("error-codes", incidentInWords("error-codes"), true,
                held != m_history.openStops.end() ? std::vector { held->seq } : std::vector<base::Seq>());
        for (const auto& stop : m_history.openStops)
            if (stop.stop.cause == "field-notice")
                add("field-notice", incidentInWords("field-notice"), true, { stop.seq, stop.stop.because });
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
            add("control-rejected", rejectedInWords(set), true, evidence);
        for (std::size_t i = 0; i < set.runs.size(); ++i) {
            if (set.runs[i].judged.valid || !newestOfLevel(set, i))
                continue;
            add("run-invalid", "The last control set does not count. Mend what stands beside this, then run " + required() + " again.",
                true, { set.runs[i].seq, set.seq });
            for (const auto& code : set.runs[i].judged.invalidBecause)
                add(code, causeInWords(code), true, { set.runs[i].seq, set.seq });
        }
        if (const std::string missing = missingLevels(set); !missing.empty())
            add("set-partial", "The last control set is not complete: " + missing + " has no result that counts. Run " + required() + ".",
                true, evidence);
    }

    static bool newestOfLevel(const SetRecord& set, std::size_t at)
    {
        return std::none_of(set.runs.begin() + static_cast<std::ptrdiff_t>(at) + 1, set.runs.end(),
            [&](const RunRecord& later) { return later.run.level == set.runs[at].run.level; });
    }

    std::string rejectedInWords(const SetRecord& set) const
    {
        std::string text;
        for (std::size_t i = 0; i < set.runs.size(); ++i) {
            const RunRecord& record = set.runs[i];
            if (record.judged.verdict != Verdict::Rejected || !newestOfLevel(set, i))
                continue;
            const std::string unit = " " + std::string(base::toText(record.run.unit));
            const bool number = std::holds_alternative<base::Decimal>(record.run.result);
            text += "The " + std::string(word(record.run.level)) + " control read " + toText(record.run.result) + (number ? unit : "");
            if (record.judged.inRange == false && record.judged.low && record.judged.high) {
                const bool above = std::get<base::Decimal>(record.run.result) > *record.judged.high;
                text += above ? ", above " + record.judged.high->typed() : ", below " + record.judged.low->typed();
            }
            std::string rules;
            for (const auto& rule : record.judged.rules)
                rules += (rules.empty() ? "" : ", ") + rule;
            text += (rules.empty() ? "" : " (" + rules + ")") + std::string(". ");
        }
        if (m_history.ladder && m_history.ladder->step > 1)
            return text + "Do not use it. " + m_history.ladder->next + ".";
        return text + "Do not use it; check the technique and repeat with a new strip.";
    }

    /// Levels that lack a result altogether, or outside the window, or with an error code.
    std::string missingLevels(const SetRecord& set) const
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
        return levelsInWords(missing);
    }

    void assessClearance()
    {
        if (!m_history.newestAccepted) {
            add("no-control-yet", "No accepted control set is on record. Run " + required() + " before the first use.", true,
                { m_history.meter.seq });
            return;
        }
        const SetRecord& set = *m_history.newestAccepted;
        const base::Moment until = clearedUntil(set.judged.lastAt, m_policy, m_zone);
        const bool issuedSince = !m_history.issuedOnEvidence && m_history.state && m_history.state->state == MeterState::InService
            && m_history.state->before == MeterState::Reserve && set.judged.lastAt < m_history.state->since;
        if (issuedSince) {
            add("control-overdue", "It was issued from reserve and not controlled since. Run " + required() + " before the first use.",
                true, { m_history.state->seq });
            return;
        }
        endsAt(until);
        if (m_history.revoked) {
            add("lot-quarantined", m_history.revoked->text + " Run " + required() + " with other materials.", true,
                m_history.revoked->evidence);
            then("Run " + required() + " with other materials");
        }
        if (m_at >= until) {
            add("control-overdue", "The control is overdue" + overdueSince(until) + ". Run " + required() + " before the next use.", true,
                { set.seq });
        } else if (m_at.utcMs >= until.utcMs - m_policy.dueSoonHours * kHour) {
            add("control-due", "The next control is due at " + inWords(until, m_zone) + ".", false, { set.seq });
            then("Run " + required(), until);
        }
    }

    void assessTransfer()
    {
        if (!m_history.transfer)
            return;
        const TransferRecord& transfer = *m_history.transfer;
        if (!transfer.confirmedBy)
            then("Ward " + transfer.to.value + ": confirm that it arrived");
        const bool controlled = m_history.newestAccepted && clearsSince(*m_history.newestAccepted) >= transfer.at;
        if (m_policy.controlAfterTransfer && !controlled)
            add("transferred",
                "It came from ward " + transfer.from.value + " and was not controlled on ward " + transfer.to.value + " since. Run "
                    + required() + " before the first use.",
                true, { transfer.seq });
    }

    /// A policy that came into force later never made yesterday unfit: then the text says by which rule it is overdue.
    std::string overdueSince(base::Moment due) const
    {
        if (!m_policy.since || due >= *m_policy.since)
            return " since " + inWords(due, m_zone);
        return ": by the policy in force since " + inWords(*m_policy.since, m_zone) + " it was due at " + inWords(due, m_zone);
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
        for (const auto& code : againstStripVial(&vial, lot, m_at, m_zone)) {
            std::string text = causeInWords(code);
            if (code == "strip-vial-expired" && vial.vial.opened && lot != nullptr && lot->lot.openPeriod)
                text = "Strip vial " + vial.vial.vial.value + " was good to "
                    + inWords(base::lastUsableDay(m_zone.dateOf(*vial.vial.opened), *lot->lot.openPeriod)) + ". Open a new strip vial.";
            add(code, text, true, { vial.seq });
        }
        if (lot == nullptr)
            return;
        if (const auto expiry = effectiveExpiry(lot->lot.expiry, vial.vial.opened, lot->lot.openPeriod, m_zone))
            endsAt(m_zone.endOf(expiry->lastDay));
    }

    void assessComparison()
    {
        if (m_history.newestPair && m_history.newestPair->judged.outcome == PairOutcome::Outside) {
            const auto& pair = *m_history.newestPair;
            std::string share;
            if (m_history.newestRound && m_history.newestRound->used > 1)
                for (const auto& tier : m_history.newestRound->tiers)
                    if (!tier.met())
                        share += std::to_string(tier.within) + " of " + std::to_string(tier.of) + " pairs lie inside " + tier.tier
                            + ", at least " + std::to_string(tier.needed) + " must; ";
            add("comparison-failed",
                "The laboratory comparison failed: " + share + "the meter read " + toText(pair.pair.meterResult)
                    + " where the laboratory found " + toText(pair.pair.labResult)
                    + (pair.judged.limits.empty() ? "" : " (allowed " + pair.judged.limits + ")")
                    + ". Compare again today with a new sample.",
                true, { pair.seq });
        }
        if (m_history.newestRound && m_history.newestRound->biasBeyondHalfLimit)
            then("Coordinator: look at the strip lot first; do other meters deviate from the laboratory the same way?");
        const base::Moment from = m_history.newestPassedPair
            ? std::max(m_history.newestPassedPair->pair.meterAt, m_history.newestPassedPair->pair.labAt)
            : m_history.meter.act.enrolled;
        const base::Seq evidence = m_history.newestPassedPair ? m_history.newestPassedPair->seq : m_history.meter.seq;
        const base::Moment due = later(from, m_policy.comparisonInterval, m_zone);
        endsAt(due);
        if (m_at >= due) {
            add("comparison-overdue", "The laboratory comparison is overdue" + overdueSince(due) + ". Compare it before the next use.",
                true, { evidence });
        } else if (m_at.utcMs >= due.utcMs - m_policy.comparisonDueDays * 24 * kHour) {
            add("comparison-due", "The laboratory comparison is due by " + inWords(due, m_zone) + ".", false, { evidence });
            then("Compare with the laboratory", due);
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
            add("calibration-failed", "The calibration verification lies outside the limits. Keep it out of use and tell the coordinator.",
                true, { m_history.calibrations.back().seq });
            then("Coordinator: find the cause, then verify the calibration again");
        }
        if (!m_policy.calibrationInterval)
            return;
        const base::Moment due = later(passed ? passed->act.at : m_history.meter.act.enrolled, *m_policy.calibrationInterval, m_zone);
        const base::Seq evidence = passed ? passed->seq : m_history.meter.seq;
        endsAt(due);
        if (m_at >= due) {
            add("calibration-overdue",
                "The calibration verification is overdue" + overdueSince(due) + ". Verify low, mid and high before the next use.", true,
                { evidence });
            then("Verify the calibration at low, mid and high");
        } else if (m_at.utcMs >= due.utcMs - m_policy.dueSoonDays * 24 * kHour) {
            add("calibration-due", "The calibration verification is due by " + inWords(due, m_zone) + ".", false, { evidence });
            then("Verify the calibration at low, mid and high", due);
        }
    }

    /// A proficiency sample waits, or was not returned in time: then the accuracy must be shown in another way (handbook 8.9).
    void assessEqa()
    {
        for (const auto& sample : m_history.eqa) {
            const EqaJudged judged = judgeEqa(sample, m_at);
            const acts::EqaReceived& received = sample.received.act;
            const std::string name = received.scheme + " " + received.event + ", sample " + received.sample;
            const bool shown = m_history.newestPassedPair && m_history.newestPassedPair->judged.at > received.due;
            if (judged.band == EqaBand::Waiting) {
                add("eqa-due", "A proficiency sample waits: " + name + ", to be returned by " + inWords(received.due, m_zone) + ".", false,
                    { sample.received.seq });
                then("Run and return the proficiency sample " + received.sample, received.due);
            } else if ((judged.band == EqaBand::Missing || judged.band == EqaBand::Late) && !shown) {
                add("eqa-missing",
                    "A proficiency sample was " + std::string(judged.band == EqaBand::Late ? "returned late" : "not returned") + " by "
                        + inWords(received.due, m_zone) + ": " + name
                        + ". It counts as failed, score zero; compare the meter with the laboratory.",
                    false, { sample.received.seq });
                then("Compare with the laboratory, in place of the proficiency sample " + received.sample);
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
            then("Run " + required() + ": the control of a meter in reserve is due", due);
    }

    void assessCleaning()
    {
        const IncidentRecord* soiled = nullptr;
        const IncidentRecord* cleaned = nullptr;
        for (const auto& incident : m_history.cleanings)
            (incident.act.what == IncidentKind::Soiled ? soiled : cleaned) = &incident;
        if (soiled != nullptr && (cleaned == nullptr || cleaned->act.at < soiled->act.at))
            add("cleaning-overdue", "It is soiled. Clean and disinfect it as the insert says, and record it.", true, { soiled->seq });
        if (!m_policy.cleaningInterval)
            return;
        const base::Moment from = cleaned != nullptr ? cleaned->act.at : m_history.meter.act.enrolled;
        const base::Seq evidence = cleaned != nullptr ? cleaned->seq : m_history.meter.seq;
        const base::Moment due = later(from, *m_policy.cleaningInterval, m_zone);
        endsAt(due);
        if (m_at >= due)
            add("cleaning-overdue",
                "Cleaning is overdue" + overdueSince(due) + ". Clean and disinfect it as the insert says, and record it.", true,
                { evidence });
        else if (m_at.utcMs >= due.utcMs - m_policy.dueSoonHours * kHour)
            add("cleaning-due", "Cleaning is due by " + inWords(due, m_zone) + ".", false, { evidence });
    }

    void assessDrift()
    {
        if (!m_history.newestCounted || m_history.newestCounted->judged.drift.flags.empty())
            return;
        const SetRecord& set = *m_history.newestCounted;
        const acts::DriftFinding& drift = set.judged.drift;
        std::string rules;
        for (const auto& rule : drift.flags)
            rules += (rules.empty() ? "" : ", ") + rule;
        std::string text = "It drifts";
        const auto worst = std::ranges::max_element(drift.bias, {}, [](const acts::LevelBias& b) { return std::abs(b.percent); });
        if (worst != drift.bias.end())
            text += std::string(worst->bias > 0 ? " upward" : " downward");
        if (drift.began)
            text += " since " + inWords(m_zone.dateOf(*drift.began)) + ", an estimate";
        if (worst != drift.bias.end())
            text += ": the " + std::string(word(worst->level)) + " control reads " + signedNumber(worst->percent, 1) + " % from its mean";
        text += " (" + rules + "). ";
        const LotEffect effect = lotEffectOf(m_history.driftCompany, m_policy);
        if (!effect.text.empty())
            text += effect.text + " ";
        const bool blocks = m_policy.driftBlocks == DriftBlocks::Always
            || (m_policy.driftBlocks == DriftBlocks::HalfLimit && drift.beyondHalfLimit);
        if (drift.beyondHalfLimit)
            text += "That is more than half of what a comparison allows";
        text += blocks ? std::string(drift.beyondHalfLimit ? ": w" : "W") + "ithdraw it and tell the coordinator."
                       : std::string(drift.beyondHalfLimit ? ": t" : "T") + "ell the coordinator.";
        add("drift", text, blocks, { set.seq });
        if (effect.finding == stats::DeviationFinding::Lot || effect.finding == stats::DeviationFinding::Both) {
            add("lot-effect", effect.text, false, { set.seq });
            then("Coordinator: look at the strip lot and the control vials first");
        }
        then(blocks ? "Withdraw it and tell the coordinator" : "Coordinator: find out why it drifts");
    }

    void assessLookbacks()
    {
        for (const auto& open : m_history.openLookbacks)
            add("look-back-open",
                "Results from " + inWords(open.lookback.from, m_zone) + " to " + inWords(open.lookback.to, m_zone)
                    + " wait for the coordinator's look-back.",
                false, { open.seq });
        if (!m_history.openLookbacks.empty())
            then("Coordinator: decide the look-back");
    }

    /// Handbook 4.1, D2 and D3. Where a control is owed anyway it is run on what stands open, and nothing more is asked.
    void assessFirstUses()
    {
        static constexpr std::string_view kOwedAnyway[] = { "no-control-yet", "control-overdue", "control-rejected", "set-partial",
            "run-invalid", "transferred", "lot-quarantined" };
        if (m_result.state != MeterState::InService || std::ranges::any_of(kOwedAnyway, [&](std::string_view c) { return stands(c); }))
            return;
        for (const auto& use : firstUses(m_history, m_policy, m_at)) {
            const std::string what = newMaterialInWords(use);
            if (use.blocks)
                add(use.of == FirstUse::Of::StripLot ? "new-strip-lot" : "new-strip-vial",
                    "It was not controlled on " + what + ", and nothing else is open for it. Run " + required() + " before the next use.",
                    true, { use.vial->vial.seq });
            else if (use.byInsert)
                then("Look in the maker's insert whether " + what + " asks for a control before its first use");
            else
                then("Run " + required() + " on " + what + " before its strips are used on it");
        }
    }

    static std::string newMaterialInWords(const FirstUse& use)
    {
        const acts::StripVialOpened& vial = use.vial->vial.vial;
        return use.of == FirstUse::Of::StripLot ? "strip lot " + vial.lot.value + " (vial " + vial.vial.value + ")"
                                                : "strip vial " + vial.vial.value;
    }

    /// Handbook 4.1, D4, where the policy asks. It says something of the control vial, not of the meter, and so stops none.
    void assessUnprovenControlVials()
    {
        for (const auto& unproven : m_history.unprovenControlVials) {
            const std::string id = unproven.vial.vial.vial.value;
            add("control-vial-not-beside",
                "Control vial " + id + " was not run beside an older one of the " + std::string(word(unproven.level)) + " level.", false,
                { unproven.vial.seq });
            if (!unproven.older.empty())
                then("Run control vial " + id + " beside " + unproven.older.front().value + ", one after the other");
        }
    }

    std::string required() const { return levelsInWords(m_policy.requiredLevels); }

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
        static constexpr std::string_view kOut[] = { "wet", "damaged", "wrong-unit", "field-notice", "not-for-shared-use" };
        static constexpr std::string_view kMended[] = { "control-overdue", "no-control-yet", "set-partial", "cleaning-overdue",
            "strip-expired", "strip-vial-expired", "no-strip-vial", "comparison-overdue", "run-invalid", "control-expired",
            "control-vial-expired", "operator-not-competent", "transferred", "new-strip-lot", "new-strip-vial" };
        if (m_result.usable)
            return m_result.reasons.empty() ? Advice::Use : Advice::Check;
        const bool driftBlocks = std::ranges::any_of(m_result.reasons, [](const Reason& r) { return r.code == "drift" && r.blocks; });
        if (m_result.state == MeterState::Withdrawn || driftBlocks
            || std::ranges::any_of(kOut, [&](std::string_view c) { return stands(c); }))
            return Advice::Withdraw;
        const bool onlyChecks = std::ranges::all_of(
            m_result.reasons, [&](const Reason& r) { return !r.blocks || std::ranges::find(kMended, r.code) != std::end(kMended); });
        return onlyChecks && m_result.state == MeterState::InService ? Advice::Check : Advice::Hold;
    }

    void sayWhatToDo()
    {
        std::vector<NextStep> later = std::move(m_result.next);
        m_result.next.clear();
        if (stands("comparison-failed"))
            then("Compare again with a new sample");
        if (stands("strip-expired") || stands("strip-vial-expired") || stands("no-strip-vial"))
            then("Open a new strip vial");
        if (stands("cleaning-overdue"))
            then("Clean and disinfect it");
        if (std::ranges::any_of(m_history.incidents,
                [&](const IncidentRecord& i) { return stands(effectOf(i.act.what).code) && effectOf(i.act.what).needsInspection; }))
            then("Look it over");
        if (m_result.state == MeterState::InService || m_result.state == MeterState::OnHold)
            if (stands("control-rejected") || stands("control-overdue") || stands("no-control-yet") || stands("set-partial")
                || stands("run-invalid") || stands("dropped") || stands("transferred") || stands("new-strip-lot")
                || stands("new-strip-vial"))
                then(m_history.ladder                ? m_history.ladder->next
                        : stands("control-rejected") ? "Check the technique, then repeat with a new strip"
                                                     : "Run " + required());
        if (stands("comparison-overdue"))
            then("Compare with the laboratory");
        if (m_result.state == MeterState::OnHold
            && std::ranges::any_of(m_history.openStops, [](const StopRecord& s) { return s.stop.needsSignature; }))
            then("Record the return steps and sign");
        if (m_result.state == MeterState::Withdrawn)
            then("Coordinator: decide what follows");
        for (auto& step : later)
            then(step.what, step.by);
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
