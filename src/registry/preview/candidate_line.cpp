// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/preview/candidate_line.h"

#include "registry/comparison/comparison.h"
#include "registry/desk/comparison.h"
#include "registry/desk/judging.h"
#include "registry/terms/reason.h"

#include <algorithm>

namespace mk::registry {

namespace {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

/// Beyond every entry of a journal, so that nothing is taken for one.
constexpr std::int64_t kFirstSeq = std::int64_t { 1 } << 52;

bool isOpenAt(const StopRecord& stop, Moment at)
{
    return stop.stop.at <= at && !(stop.endedAt && *stop.endedAt <= at);
}

/// Only what the desk makes of sets and pairs is made anew. A hold after a result that was corrected since came from what was known then.
bool staysAsItWas(const MeterPast& meter, const StopRecord& stop)
{
    if (stop.stop.cause == code(ReasonCode::ComparisonFailed))
        return false;
    if (stop.stop.cause != code(ReasonCode::ControlRejected) && stop.stop.cause != code(ReasonCode::LadderExhausted))
        return true;
    const SetRecord* newest = nullptr;
    for (const auto& set : meter.sets)
        if (set.judged.lastAt <= stop.stop.at)
            newest = &set;
    return newest != nullptr && newest->judged.verdict != Verdict::Rejected && newest->judged.oldVerdict == Verdict::Rejected;
}

/// The moment from which so many accepted sets in a row stand behind `since`.
std::optional<Moment> acceptedAfter(const std::vector<SetRecord>& sets, Moment since, int needed)
{
    int inARow = 0;
    for (const auto& set : sets) {
        if (set.judged.lastAt <= since)
            continue;
        inARow = isAccepted(set) ? inARow + 1 : 0;
        if (inARow >= needed)
            return set.judged.lastAt;
    }
    return std::nullopt;
}

/// The first comparison from then on that lies inside.
std::optional<Moment> insideAfter(const std::vector<Comparison>& comparisons, Moment since)
{
    const auto found = std::ranges::find_if(
        comparisons, [&](const Comparison& each) { return each.judged.outcome == PairOutcome::Inside && each.judged.lastAt > since; });
    return found == comparisons.end() ? std::nullopt : found->judged.lastAt;
}

} // namespace

CandidateLine::CandidateLine(MeterPast recorded, const Policy& candidate)
    : m_recorded(std::move(recorded)),
      m_candidate(candidate),
      m_beneath(m_recorded.states),
      m_seq { kFirstSeq }
{
    std::ranges::copy_if(m_recorded.stops, std::back_inserter(m_kept), [&](const StopRecord& s) { return staysAsItWas(m_recorded, s); });
    std::erase_if(m_beneath, [](const StateSpell& s) { return s.state == MeterState::OnHold || s.state == MeterState::Withdrawn; });
}

std::vector<CandidateLine::Event> CandidateLine::events() const
{
    std::vector<Event> all;
    for (const auto& set : m_recorded.sets)
        if (!set.runs.empty())
            all.push_back({ set.judged.lastAt, &set, nullptr });
    for (const auto& pair : m_recorded.pairs)
        all.push_back({ std::max(pair.pair.meterAt, pair.pair.labAt), nullptr, &pair });
    std::ranges::stable_sort(all, {}, &Event::at);
    return all;
}

Done CandidateLine::replay(Facts& facts)
{
    const auto all = events();
    for (auto event = all.begin(); event != all.end(); ++event) {
        const auto next = std::find_if(std::next(event), all.end(), [&](const Event& later) {
            const bool sameRound = later.pair != nullptr && event->pair != nullptr && later.pair->pair.round
                && later.pair->pair.round == event->pair->pair.round;
            return (later.set != nullptr) == (event->set != nullptr) && !sameRound;
        });
        m_next = next == all.end() ? base::kEndOfTime : next->at;
        if (const Done done = happen(facts, *event); !done)
            return done;
    }
    m_now = base::kEndOfTime;
    return {};
}

Done CandidateLine::happen(Facts& facts, const Event& event)
{
    m_now = event.at;
    if (const auto work = m_works.meters.find(m_recorded.meter); work != m_works.meters.end())
        work->second.statesKnown = false; // people may have moved it since
    const desk::Occasion occasion { true, event.at, {}, {}, true };
    desk::Judging judging(facts, *this, occasion, m_works);
    m_judging = &judging;
    Done done;
    if (event.set != nullptr) {
        for (const auto& run : event.set->runs)
            if (done = judging.expect(run.seq, run.run, {}, run.run.by.value); !done)
                break;
        if (done)
            done = judging.settle();
    } else {
        const auto& pair = event.pair->pair;
        done = desk::follow({ facts, *this, judging, occasion, pair.by.value }, event.pair->seq, pair);
    }
    m_judging = nullptr;
    if (done)
        endWhatTheRecordsShow(facts);
    return done;
}

Result<Seq> CandidateLine::enter(const Act& act, const std::string&)
{
    if (const auto* judged = std::get_if<acts::SetJudged>(&act))
        return enterSet(*judged);
    if (const auto* judged = std::get_if<acts::PairJudged>(&act))
        return enterPair(*judged);
    ++m_seq.value;
    if (const auto* stopped = std::get_if<acts::MeterStopped>(&act); stopped != nullptr && stopped->meter == m_recorded.meter)
        enterStop(*stopped, m_seq);
    else if (const auto* returned = std::get_if<acts::MeterReturned>(&act); returned != nullptr && returned->meter == m_recorded.meter)
        endStops(*returned);
    m_judging->entered(act);
    return m_seq;
}

/// Its entry stays that of the verdict on record, and its runs keep what was marked on them.
Result<Seq> CandidateLine::enterSet(const acts::SetJudged& judged)
{
    const auto recorded = std::ranges::find_if(m_recorded.sets, [&](const SetRecord& set) { return set.judged.set == judged.set; });
    if (recorded == m_recorded.sets.end())
        return base::fault(base::FaultKind::Damaged, "set '%1' is not on record; run verify", judged.set.value);
    SetRecord set = *recorded;
    set.judged = judged;
    set.judged.oldVerdict = recorded->judged.oldVerdict;
    for (auto& run : set.runs)
        if (const auto own = std::ranges::find(judged.runs, run.seq, &acts::JudgedRun::run); own != judged.runs.end())
            run.judged = *own;
    std::erase_if(m_sets, [&](const SetRecord& earlier) { return earlier.judged.set == judged.set; });
    if (!judged.runs.empty())
        m_sets.insert(std::ranges::upper_bound(m_sets, judged.lastAt, {}, [](const SetRecord& s) { return s.judged.lastAt; }), set);
    return set.seq;
}

Result<Seq> CandidateLine::enterPair(const acts::PairJudged& judged)
{
    const auto recorded = std::ranges::find_if(m_recorded.pairs, [&](const PairRecord& each) { return each.pair.pair == judged.pair; });
    if (recorded == m_recorded.pairs.end())
        return base::fault(base::FaultKind::Damaged, "pair '%1' is not on record; run verify", judged.pair.value);
    m_pairs.push_back({ recorded->seq, recorded->pair, judged });
    return recorded->seq;
}

/// The stop on record for what happened now: it may have been entered somewhat later, but before the next of its kind.
const StopRecord* CandidateLine::recordedStop(const acts::MeterStopped& stopped) const
{
    const auto found = std::ranges::find_if(m_recorded.stops,
        [&](const StopRecord& s) { return s.stop.cause == stopped.cause && s.stop.at >= stopped.at && s.stop.at < m_next; });
    return found == m_recorded.stops.end() ? nullptr : &*found;
}

void CandidateLine::enterStop(acts::MeterStopped stopped, Seq seq)
{
    StopRecord stop { seq, std::move(stopped), {}, {} };
    if (const StopRecord* recorded = recordedStop(stop.stop)) {
        stop.stop.at = recorded->stop.at;
        if (stop.stop.needsSignature)
            stop.endedAt = recorded->endedAt ? *recorded->endedAt : base::kEndOfTime;
    }
    m_stops.push_back(std::move(stop));
}

void CandidateLine::endStops(const acts::MeterReturned& returned)
{
    for (auto& stop : m_stops)
        if (!stop.endedAt && std::ranges::find(returned.ends, stop.seq) != returned.ends.end())
            stop.endedAt = returned.at;
}

void CandidateLine::endWhatTheRecordsShow(Facts& facts)
{
    for (auto& stop : m_stops) {
        if (!stop.stop.needsSignature || stop.endedAt)
            continue;
        auto shown = acceptedAfter(m_sets, stop.stop.at, stop.stop.withdrawn ? m_candidate.returnSets : 1);
        if (shown && stop.stop.cause == code(ReasonCode::ComparisonFailed)) {
            const auto policyAt = [&](Moment at) -> const Policy& { return facts.policyAt(at); };
            const auto inside = insideAfter(comparisonsOf(m_pairs, m_now, policyAt), stop.stop.at);
            shown = inside ? std::optional(std::max(*shown, *inside)) : std::nullopt;
        }
        stop.endedAt = shown;
    }
}

std::vector<base::SetId> CandidateLine::setsRun() const
{
    std::vector<base::SetId> ids;
    for (const auto& set : m_recorded.sets)
        if (!set.runs.empty() && set.judged.lastAt <= m_now)
            ids.push_back(set.judged.set);
    return ids;
}

std::vector<StopRecord> CandidateLine::stops() const
{
    std::vector<StopRecord> all = m_kept;
    std::erase_if(all, [&](const StopRecord& stop) { return stop.stop.at > m_now; });
    all.insert(all.end(), m_stops.begin(), m_stops.end());
    for (auto& stop : all) {
        if (stop.endedAt && (*stop.endedAt > m_now || *stop.endedAt == base::kEndOfTime))
            stop.endedAt.reset();
        stop.endedBy = stop.endedAt ? std::optional(stop.endedBy.value_or(m_seq)) : std::nullopt;
    }
    std::ranges::stable_sort(all, {}, [](const StopRecord& stop) { return stop.stop.at; });
    return all;
}

std::vector<StateSpell> CandidateLine::states() const
{
    const auto all = stops();
    std::vector<Moment> changes;
    for (const auto& spell : m_beneath)
        changes.push_back(spell.since);
    for (const auto& stop : all) {
        changes.push_back(stop.stop.at);
        if (stop.endedAt)
            changes.push_back(*stop.endedAt);
    }
    std::ranges::sort(changes);
    std::vector<StateSpell> spells;
    for (const Moment at : changes) {
        const auto beneath = std::find_if(m_beneath.rbegin(), m_beneath.rend(), [&](const StateSpell& s) { return s.since <= at; });
        if (beneath == m_beneath.rend())
            continue;
        StateSpell spell = *beneath;
        const auto withdraws = [&](const StopRecord& stop) { return isOpenAt(stop, at) && stop.stop.withdrawn; };
        const bool inUse = spell.state == MeterState::InService || spell.state == MeterState::Reserve;
        if (inUse && std::ranges::any_of(all, withdraws))
            spell.state = MeterState::Withdrawn;
        else if (spell.state == MeterState::InService && std::ranges::any_of(all, [&](const StopRecord& s) { return isOpenAt(s, at); }))
            spell.state = MeterState::OnHold;
        if (!spells.empty() && spells.back().state == spell.state && spell.since != at)
            continue;
        if (spell.since != at || spell.state != beneath->state)
            spell.before = spells.empty() ? spell.before : std::optional(spells.back().state), spell.since = at;
        spells.push_back(spell);
    }
    return spells;
}

std::size_t CandidateLine::otherVerdicts(Moment from, Moment to) const
{
    return static_cast<std::size_t>(std::ranges::count_if(m_sets, [&](const SetRecord& set) {
        const auto recorded = std::ranges::find_if(m_recorded.sets, [&](const SetRecord& s) { return s.judged.set == set.judged.set; });
        return set.judged.lastAt >= from && set.judged.lastAt <= to && recorded->judged.verdict != set.judged.verdict;
    }));
}

} // namespace mk::registry
