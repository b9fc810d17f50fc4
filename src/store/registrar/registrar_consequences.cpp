// SPDX-License-Identifier: GPL-3.0-or-later
// What follows from an act, in the same transaction.
#include "registry/comparison/comparison.h"
#include "store/journal/act_codec.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;
using namespace registry;

Moment ActBatch::effective(Moment actAt) const
{
    return m_imported ? actAt : m_reader.zone().at(m_nowMs);
}

Result<std::vector<StopRecord>> ActBatch::openStops(const base::MeterId& meter)
{
    auto stops = m_reader.stops(meter);
    if (stops)
        std::erase_if(*stops, [](const StopRecord& stop) { return stop.endedBy.has_value(); });
    return stops;
}

Done ActBatch::stop(const base::MeterId& meter, Moment at, bool withdrawn, const std::string& cause, Seq because, bool needsSignature)
{
    const auto state = stateAt(meter, at);
    if (!state)
        return state.error();
    const bool inUse = *state == MeterState::InService || *state == MeterState::OnHold;
    const bool mayStop = inUse || *state == MeterState::Withdrawn || (withdrawn && *state == MeterState::Reserve)
        || (*state == MeterState::Missing && cause == "found"); // a missing meter stays missing until it is found (T14)
    if (!mayStop)
        return {};
    // One more cause for a withdrawn meter does not bring it back to a mere hold.
    const bool stays = *state == MeterState::Withdrawn;
    const acts::MeterStopped stopped { meter, at, withdrawn || stays, cause, because, needsSignature || stays,
        "policy " + std::to_string(m_reader.policyAt(at).version) };
    const Done done = appendConsequence(stopped);
    return done ? followStop(stopped, m_head.seq) : done;
}

Done ActBatch::endStops(const base::MeterId& meter, Moment at, Seq because, const std::vector<StopRecord>& open,
    const std::function<bool(const StopRecord&)>& ends, std::optional<MeterState> to)
{
    acts::MeterReturned returned { meter, at, MeterState::InService, because, {} };
    bool othersRemain = false;
    for (const auto& each : open) {
        if (ends(each))
            returned.ends.push_back(each.seq);
        else
            othersRemain = true;
    }
    if (returned.ends.empty() && !to)
        return {};
    const auto state = stateAt(meter, at);
    if (!state)
        return state.error();
    returned.toState = to ? *to : othersRemain || *state != MeterState::OnHold ? *state : MeterState::InService;
    return appendConsequence(returned);
}

Done ActBatch::follow(Seq seq, const Act& act)
{
    if (const auto* run = std::get_if<acts::ControlRun>(&act)) {
        if (const Done expected = expect(seq, *run); !expected)
            return expected;
        if (std::holds_alternative<ErrorCode>(run->result))
            return followErrorCode(run->meter, run->at, seq);
        return {};
    }
    if (const auto* incident = std::get_if<acts::IncidentReported>(&act))
        return followIncident(seq, *incident);
    if (const auto* pair = std::get_if<acts::ComparisonRecorded>(&act))
        return followComparison(seq, *pair);
    if (const auto* step = std::get_if<acts::ReturnStep>(&act))
        return followReturn(seq, *step);
    if (const auto* movement = std::get_if<acts::MeterMoved>(&act))
        return followMovement(seq, *movement);
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act))
        return followCorrection(seq, *correction);
    if (const auto* confirmation = std::get_if<acts::CorrectionConfirmed>(&act))
        return followConfirmation(seq, *confirmation);
    if (const auto* excursion = std::get_if<acts::ExcursionReported>(&act))
        return followExcursion(*excursion);
    if (const auto* notice = std::get_if<acts::NoticeIssued>(&act))
        return followNotice(seq, *notice);
    if (std::holds_alternative<acts::PolicyChanged>(act))
        return m_reader.readPoliciesAgain();
    if (const auto* returned = std::get_if<acts::EqaReturned>(&act))
        return followEqaReturn(seq, *returned);
    if (const auto* scored = std::get_if<acts::EqaScored>(&act))
        return followEqaScore(seq, *scored);
    // A fact about a lot, a vial, a range or a person may concern runs that were judged without it.
    const bool mayConcernRuns = std::holds_alternative<acts::RangeAssigned>(act) || std::holds_alternative<acts::LotEvent>(act)
        || std::holds_alternative<acts::VialEnded>(act);
    return mayConcernRuns ? markLate(subjectOf(act), ownTimeOf(act), seq) : Done();
}

Done ActBatch::markLate(const std::string& id, std::optional<Moment> since, Seq because)
{
    if (!m_newestJudged) {
        m_newestJudged = std::numeric_limits<std::int64_t>::min();
        if (const Done read = eachRow(m_session, "SELECT max(last_at) FROM set_verdict", {},
                [&](const Statement& row) {
                    m_newestJudged = row.numberOr(0).value_or(*m_newestJudged);
                    return Done();
                });
            !read)
            return read;
    }
    if (since && since->utcMs > *m_newestJudged)
        return {}; // nothing was judged without knowing it
    const auto used = m_reader.metersThatUsed(id);
    if (!used)
        return used.error();
    for (const auto& meter : *used)
        m_late.emplace(meter, because);
    return {};
}

Done ActBatch::followIncident(Seq seq, const acts::IncidentReported& incident)
{
    if (const Done settled = settleMeter(incident.meter); !settled)
        return settled;
    const Moment told = effective(std::max(incident.noticedAt.value_or(incident.at), incident.at));
    const IncidentEffect& effect = effectOf(incident.what);
    if (incident.what == IncidentKind::ErrorCode)
        return followErrorCode(incident.meter, incident.at, seq);
    if (incident.what == IncidentKind::Found) {
        const auto state = stateAt(incident.meter, told);
        if (!state)
            return state.error();
        return *state == MeterState::Missing ? stop(incident.meter, told, true, "found", seq, true) : Done();
    }
    // Told after an accepted set already followed: what was done in between waits for a look-back (handbook 1.5).
    if (incident.what == IncidentKind::WrongUnit && !m_imported)
        if (const Done opened = followWrongUnit(seq, incident, told); !opened)
            return opened;
    const bool wrongUnit = incident.what == IncidentKind::WrongUnit && !m_imported; // its look-back is open already
    const bool doubtful = effect.cancelsClearance && !wrongUnit && incident.what != IncidentKind::BatteryChanged
        && incident.what != IncidentKind::ClockWrong && incident.what != IncidentKind::SoftwareUpdated;
    if (doubtful)
        if (const Done opened = lookBackOnIncident(seq, incident, told); !opened)
            return opened;
    if (effect.startsSegment)
        m_meters.erase(incident.meter); // its boundaries changed
    if (!effect.holds && !effect.withdraws)
        return {};
    return stop(incident.meter, told, effect.withdraws, std::string(code(*effect.reason)), seq, true);
}

Done ActBatch::followErrorCode(const base::MeterId& meter, Moment at, Seq seq)
{
    const Policy& policy = m_reader.policyAt(at);
    const std::int64_t from = at.utcMs - policy.errorCodeHours * std::int64_t { 3'600'000 };
    const auto within = [&](Moment moment) { return moment.utcMs > from && moment <= at; };
    const auto incidents = m_reader.incidents(meter);
    if (!incidents)
        return incidents.error();
    auto count = std::ranges::count_if(
        *incidents, [&](const IncidentRecord& i) { return i.act.what == IncidentKind::ErrorCode && within(i.act.at); });
    const auto sets = m_reader.setsWithRuns(meter);
    if (!sets)
        return sets.error();
    for (auto id = sets->rbegin(); id != sets->rend(); ++id) {
        const auto runs = m_reader.runs(*id);
        if (!runs)
            return runs.error();
        if (runs->empty() || runs->back().run.at.utcMs <= from)
            break;
        count += std::ranges::count_if(
            *runs, [&](const RunRecord& r) { return std::holds_alternative<ErrorCode>(r.run.result) && within(r.run.at); });
    }
    const auto open = openStops(meter);
    if (!open)
        return open.error();
    const bool held = std::ranges::any_of(*open, [](const StopRecord& s) { return s.stop.cause == "error-codes"; });
    return count >= policy.errorCodes && !held ? stop(meter, effective(at), false, "error-codes", seq, true) : Done();
}

Done ActBatch::followComparison(Seq, const acts::ComparisonRecorded& pair)
{
    const auto meter = m_reader.meter(pair.meter);
    const auto model = meter && *meter != nullptr ? m_reader.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    const auto earlier = m_reader.pairs(pair.meter);
    if (!meter || !model || !earlier)
        return unread("the comparisons of '" + pair.meter.value + "'", meter, model, earlier);
    const Moment knownAt = std::max(pair.meterAt, pair.labAt);
    const acts::PairJudged judged = judgePair(pair, *model, m_reader.policyAt(knownAt));
    const Seq verdict { m_head.seq.value + 1 };
    if (const Done done = appendConsequence(judged); !done)
        return done;
    if (judged.outcome == PairOutcome::Excluded)
        return {};
    auto pairs = *earlier;
    std::erase_if(pairs, [&](const PairRecord& other) { return other.pair.pair == pair.pair || other.judged.at > knownAt; });
    pairs.push_back({ verdict, pair, judged });
    const auto policyAt = [&](Moment at) -> const Policy& { return m_reader.policyAt(at); };
    const auto all = comparisonsOf(pairs, knownAt, policyAt);
    const auto holdsPair = [&](const Comparison& c) {
        return std::ranges::any_of(c.pairs, [&](const PairRecord& p) { return p.pair.pair == pair.pair; });
    };
    const auto own = std::ranges::find_if(all, holdsPair);
    if (own == all.end() || own == all.begin() || own->judged.outcome != PairOutcome::Outside
        || std::prev(own)->judged.outcome != PairOutcome::Outside)
        return {};
    if (pair.round) { // one withdrawal a round, however many of its pairs lie outside
        const auto open = openStops(pair.meter);
        if (!open)
            return open.error();
        if (std::ranges::any_of(*open, [&](const StopRecord& s) {
                return s.stop.withdrawn && s.stop.cause == "comparison-failed" && s.stop.at >= *own->judged.firstAt;
            }))
            return {};
    }
    // Out again after the repeat: withdrawn (handbook 5.6).
    return stop(pair.meter, effective(knownAt), true, "comparison-failed", verdict, true);
}

Done ActBatch::followReturn(Seq seq, const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed)
        return {};
    const auto open = openStops(step.meter);
    if (!open)
        return open.error();
    m_meters.erase(step.meter); // a return begins a segment
    return endStops(
        step.meter, effective(step.at), seq, *open, [](const StopRecord&) { return true; }, MeterState::InService);
}

Done ActBatch::followMovement(Seq seq, const acts::MeterMoved& movement)
{
    m_meters.erase(movement.meter);
    if (!movement.toState)
        return {};
    const Moment at = effective(movement.at);
    if (*movement.toState == MeterState::OnHold || *movement.toState == MeterState::Withdrawn) {
        const auto state = stateAt(movement.meter, at);
        if (!state)
            return state.error();
        const bool found = !m_imported && *state == MeterState::Missing;
        const bool withdrawn = *movement.toState == MeterState::Withdrawn;
        const Done stopped = appendConsequence(
            acts::MeterStopped { movement.meter, at, withdrawn, found ? "found" : "movement", seq, true, "operator" });
        return stopped && withdrawn ? followWithdrawal(movement.meter, at, m_head.seq) : stopped;
    }
    if (*movement.toState != MeterState::InService && *movement.toState != MeterState::Reserve)
        return {};
    const auto open = openStops(movement.meter);
    if (!open)
        return open.error();
    // Acceptance after a repair ends what stopped the meter before.
    return open->empty() ? Done()
                         : endStops(
                             movement.meter, at, seq, *open, [](const StopRecord&) { return true; }, movement.toState);
}

Done ActBatch::followCorrection(Seq seq, const acts::EntryCorrected& correction)
{
    const auto runs = m_reader.runs(correction.set);
    if (!runs)
        return runs.error();
    const auto run = std::ranges::find_if(*runs, [&](const RunRecord& r) { return r.run.level == correction.level; });
    if (run == runs->end())
        return {};
    const base::MeterId meter = run->run.meter;
    const auto before = m_reader.set(correction.set);
    if (!before)
        return before.error();
    const bool otherPerson = run->run.by != correction.by;
    const bool late = correction.at.utcMs - run->run.at.utcMs
        > m_reader.policyAt(correction.at).confirmAfterHours * std::int64_t { 3'600'000 };
    if (const Done judged = rejudge(meter, seq); !judged)
        return judged;
    const auto after = m_reader.set(correction.set);
    if (!after)
        return after.error();
    const bool changed = *before && *after && (*before)->judged.verdict != (*after)->judged.verdict;
    const auto newest = m_reader.newestSets(meter, m_reader.zone().at(m_nowMs), 1);
    if (!newest)
        return newest.error();
    // A stop that it lifts stays until a second person has confirmed it; one that it makes waits for nobody.
    const bool stops = !newest->empty() && newest->front().judged.verdict == Verdict::Rejected;
    const bool asks = m_reader.policyAt(correction.at).secondPerson && (changed || late || otherPerson);
    if (!stops && !correction.confirmedBy && asks)
        return {};
    return newest->empty() ? Done() : followVerdict(newest->front(), effective(correction.at));
}

Done ActBatch::followConfirmation(Seq, const acts::CorrectionConfirmed& confirmation)
{
    const auto act = actOfEntry(m_session, confirmation.entry);
    const auto* correction = act ? std::get_if<acts::EntryCorrected>(&*act) : nullptr;
    const auto runs = correction != nullptr ? m_reader.runs(correction->set) : Result<std::vector<RunRecord>>(std::vector<RunRecord>());
    if (!runs)
        return runs.error();
    if (runs->empty())
        return {};
    const auto newest = m_reader.newestSets(runs->front().run.meter, m_reader.zone().at(m_nowMs), 1);
    if (!newest)
        return newest.error();
    return newest->empty() ? Done() : followVerdict(newest->front(), effective(confirmation.at));
}

Done ActBatch::followAnnulment(Seq seq, const acts::EntryAnnulled& annulment, const std::string& kind, const Json& body)
{
    const auto act = actFrom(kind, body);
    if (!act)
        return act.error();
    m_reader.forget(subjectOf(*act));
    if (const auto* run = std::get_if<acts::ControlRun>(&*act))
        return rejudge(run->meter, seq);
    if (const auto* step = std::get_if<acts::ReturnStep>(&*act)) {
        // A signature taken back stops the meter again: an annulment never clears one.
        m_meters.erase(step->meter);
        return step->step == ReturnStepKind::Signed ? stop(step->meter, effective(annulment.at), false, "return-annulled", seq, true)
                                                    : Done();
    }
    if (const auto* incident = std::get_if<acts::IncidentReported>(&*act)) {
        m_meters.erase(incident->meter);
        return {}; // the hold that it caused ends by its return steps
    }
    if (const auto* movement = std::get_if<acts::MeterMoved>(&*act)) {
        m_meters.erase(movement->meter);
        return {};
    }
    if (std::holds_alternative<acts::ComparisonRecorded>(*act))
        return {}; // no verdict of a control rests on it
    return markLate(subjectOf(*act), std::nullopt, seq);
}

/// Did a correction change the set's verdict, and no second person has confirmed it or a later one of the same value?
Result<bool> ActBatch::waitsForConfirmation(const base::SetId& set)
{
    if (!m_reader.policyAt(m_reader.zone().at(m_nowMs)).secondPerson)
        return false;
    bool waits = false;
    const Done read = eachRow(m_session,
        "SELECT 1 FROM correction c JOIN set_verdict v ON v.set_id = c.set_id AND v.because = c.from_seq AND v.old_verdict <> v.verdict"
        " WHERE c.set_id = ? AND c.confirmed_by IS NULL"
        " AND c.from_seq > coalesce((SELECT max(d.from_seq) FROM correction d WHERE d.set_id = c.set_id AND d.level = c.level AND d.column_name = c.column_name"
        " AND d.confirmed_by IS NOT NULL), 0) LIMIT 1",
        { bound(set.value) }, [&](const Statement&) {
            waits = true;
            return Done();
        });
    if (!read)
        return read.error();
    return waits;
}

Done ActBatch::followVerdict(const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto open = openStops(meter);
    if (!open)
        return open.error();
    if (set.judged.verdict == Verdict::Rejected) {
        const bool held = std::ranges::any_of(
            *open, [&](const StopRecord& s) { return s.stop.cause == "control-rejected" && (s.stop.needsSignature || !set.judged.shift); });
        if (!held)
            if (const Done done = stop(meter, at, false, "control-rejected", set.seq, set.judged.shift); !done)
                return done;
        return followFailure(set, at);
    }
    const bool accepted = set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned;
    const bool afterFailure = std::ranges::any_of(set.runs, [](const RunRecord& run) { return run.judged.verdict == Verdict::Rejected; });
    if (!accepted || (open->empty() && !afterFailure))
        return {};
    const auto waits = waitsForConfirmation(set.judged.set);
    if (!waits)
        return waits.error();
    if (*waits)
        return {};
    const Done ended = endStops(
        meter, at, set.seq, *open, [](const StopRecord& s) { return !s.stop.needsSignature; }, std::nullopt);
    const bool failed = afterFailure || std::ranges::any_of(*open, [](const StopRecord& s) { return s.stop.cause == "control-rejected"; });
    // What was taken over had its causes dealt with where it was made.
    return ended && failed && !m_imported ? followPass(set, at) : ended;
}

} // namespace mk::store
