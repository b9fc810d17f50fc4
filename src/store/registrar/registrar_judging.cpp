// SPDX-License-Identifier: GPL-3.0-or-later
// Judging sets in the order in which they were run, and again where something became known late.
#include "store/journal/act_codec.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>
#include <utility>

namespace mk::store {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

constexpr Moment kEndOfTime { std::numeric_limits<std::int64_t>::max() / 2, 0 };
constexpr int kWindow = 26; ///< sets that answer for the counters nearly always: twelve results of each level, and some gaps

/// Do these sets, newest first, hold all that the counters can remember?
bool coversCounters(const std::vector<SetRecord>& sets)
{
    std::array<int, 3> counted {};
    for (const auto& set : sets) {
        for (const auto& run : set.runs)
            counted[static_cast<std::size_t>(run.run.level)] += run.judged.counted ? 1 : 0;
        if (set.judged.segmentStart)
            return true;
    }
    return std::ranges::all_of(counted, [](int n) { return n == 0 || n >= 13; })
        && std::ranges::any_of(counted, [](int n) { return n > 0; });
}

bool sameRun(const acts::JudgedRun& a, const acts::JudgedRun& b)
{
    return a.run == b.run && a.valid == b.valid && a.invalidBecause == b.invalidBecause && a.verdict == b.verdict && a.rules == b.rules
        && a.inRange == b.inRange && a.z == b.z && a.counted == b.counted && a.attempt == b.attempt && a.low == b.low && a.high == b.high
        && a.mean == b.mean && a.sd == b.sd && a.stage == b.stage && a.stripLot == b.stripLot && a.controlLot == b.controlLot;
}

/// Would a reader of the two verdicts come to another conclusion?
bool sameConclusion(const acts::SetJudged& a, const acts::SetJudged& b)
{
    return a.verdict == b.verdict && a.rules == b.rules && a.shift == b.shift && a.segmentStart == b.segmentStart && a.attempt == b.attempt
        && a.firstAt == b.firstAt && a.lastAt == b.lastAt && a.drift.flags == b.drift.flags
        && a.drift.beyondHalfLimit == b.drift.beyondHalfLimit && std::ranges::equal(a.runs, b.runs, sameRun);
}

SetRecord recordOf(Seq seq, const acts::SetJudged& judged, const std::vector<std::pair<Seq, acts::ControlRun>>& runs)
{
    SetRecord record { seq, judged, {} };
    for (std::size_t i = 0; i < runs.size(); ++i)
        record.runs.push_back({ runs[i].first, runs[i].first, runs[i].second, judged.runs[i] });
    return record;
}

} // namespace

Done ActBatch::expect(Seq seq, const acts::ControlRun& run)
{
    auto found = m_pending.find(run.meter);
    if (found != m_pending.end() && found->second.set != run.set) {
        const std::string person = m_person;
        if (const Done settled = settleMeter(run.meter); !settled)
            return settled;
        m_person = person;
        found = m_pending.end();
    }
    if (found == m_pending.end())
        found = m_pending.emplace(run.meter, Pending { run.set, std::exchange(m_known, {}), {}, seq, m_person }).first;
    found->second.runs.emplace_back(seq, run);
    found->second.last = seq;
    return {};
}

Done ActBatch::settle()
{
    while (!m_pending.empty()) {
        // In the order in which their last runs were recorded.
        const auto next = std::ranges::min_element(m_pending, {}, [](const auto& each) { return each.second.last; });
        if (const Done settled = settleMeter(base::MeterId(next->first)); !settled)
            return settled;
    }
    while (!m_late.empty()) {
        const auto [meter, because] = *m_late.begin();
        m_late.erase(m_late.begin());
        if (const Done judged = rejudge(meter, because); !judged)
            return judged;
        const auto newest = m_reader.newestSets(meter, m_reader.zone().at(m_nowMs), kWindow);
        if (!newest)
            return newest.error();
        // A set that is only partial, or may not count, hides no failure behind it.
        auto speaks = std::ranges::find_if(
            *newest, [](const SetRecord& set) { return set.judged.verdict != Verdict::Partial && set.judged.verdict != Verdict::Invalid; });
        if (speaks == newest->end() || speaks->judged.verdict != Verdict::Rejected)
            speaks = newest->begin();
        if (speaks != newest->end())
            if (const Done followed = followVerdict(*speaks, effective(speaks->judged.lastAt)); !followed)
                return followed;
    }
    return {};
}

Done ActBatch::settleMeter(const base::MeterId& meter)
{
    const auto found = m_pending.find(meter);
    if (found == m_pending.end())
        return {};
    const Pending pending = std::move(found->second);
    m_pending.erase(found);
    m_person = pending.person;
    return judgePending(pending);
}

Result<MeterWork*> ActBatch::workOf(const base::MeterId& meter)
{
    auto found = m_meters.find(meter);
    if (found == m_meters.end()) {
        auto sets = m_reader.newestSets(meter, kEndOfTime, kWindow);
        for (int most = kWindow; sets && static_cast<int>(sets->size()) == most && !coversCounters(*sets);)
            sets = m_reader.newestSets(meter, kEndOfTime, most *= 4);
        const auto boundaries = m_reader.boundaries(meter);
        if (!sets || !boundaries)
            return sets ? boundaries.error() : sets.error();
        const MeterSeries fresh(m_reader.policyAt(sets->empty() ? m_reader.zone().at(m_nowMs) : sets->back().judged.firstAt));
        MeterWork work { fresh, fresh, std::nullopt, {}, *boundaries, false };
        for (auto set = sets->rbegin(); set != sets->rend(); ++set) {
            work.before = work.after;
            work.after.changeTo(m_reader.policyAt(set->judged.firstAt));
            work.after.follow(*set);
            work.newest = set->judged.set;
            work.failing = failsAfter(work.failing, *set);
        }
        found = m_meters.emplace(meter, std::move(work)).first;
    }
    if (!found->second.statesKnown) {
        auto states = m_reader.states(meter);
        if (!states)
            return states.error();
        found->second.states = std::move(states).value();
        found->second.statesKnown = true;
    }
    return &found->second;
}

Result<MeterState> ActBatch::stateAt(const base::MeterId& meter, Moment at)
{
    const auto work = workOf(meter);
    if (!work)
        return work.error();
    MeterState state = MeterState::Received;
    for (const auto& spell : (*work)->states)
        if (spell.since <= at)
            state = spell.state;
    return state;
}

Result<RunContext> ActBatch::contextOf(Seq seq, const acts::ControlRun& run)
{
    const auto state = stateAt(run.meter, run.at);
    return state ? registry::contextOf(m_reader, run, { *state, seq }) : state.error();
}

/// By the policy in force when the set began: a change never judges the past again.
Result<acts::SetJudged> ActBatch::judge(
    const MeterSeries& before, const MeterWork& work, const std::vector<std::pair<Seq, acts::ControlRun>>& runs)
{
    MeterSeries series = before;
    series.changeTo(m_reader.policyAt(runs.front().second.at));
    std::vector<RunToJudge> inputs;
    for (const auto& [seq, run] : runs) {
        const auto context = contextOf(seq, run);
        if (!context)
            return context.error();
        inputs.push_back({ seq, &run, *context });
    }
    const acts::ControlRun& first = runs.front().second;
    const bool boundary = std::ranges::any_of(
        work.boundaries, [&](Moment at) { return series.lastAt() && at > *series.lastAt() && at <= first.at; });
    Done earlier; // a bias of results that could not be read would be another verdict
    const auto countedSince = [&](Moment from) {
        std::vector<CountedResult> results;
        const auto sets = m_reader.sets(first.meter, from, first.at);
        if (!sets) {
            earlier = sets.error();
            return results;
        }
        for (const auto& set : *sets) {
            if (set.judged.set == first.set)
                continue;
            for (const auto& run : set.runs) {
                const auto* number = std::get_if<base::Decimal>(&run.run.result);
                if (run.judged.counted && number != nullptr)
                    results.push_back({ set.judged.lastAt, run.run.level, number->toDouble() - run.judged.mean->toDouble(),
                        run.judged.mean->toDouble() });
            }
        }
        return results;
    };
    acts::SetJudged judged = series.judge(inputs, boundary, m_reader.zone(), countedSince);
    if (!earlier)
        return earlier.error();
    auto ward = m_reader.wardAt(first.meter, judged.lastAt);
    if (!ward)
        return ward.error();
    judged.ward = std::move(ward).value();
    return judged;
}

Done ActBatch::judgePending(const Pending& pending)
{
    const base::MeterId& meter = pending.runs.front().second.meter;
    auto runs = pending.runs;
    const bool fromIndex = !pending.known.empty() && !m_runsOnly; // one of them may have been corrected since
    if (fromIndex) {
        const auto stored = m_reader.runs(pending.set);
        if (!stored)
            return stored.error();
        runs.clear();
        for (const auto& each : *stored)
            runs.emplace_back(each.seq, each.run);
    } else {
        for (const auto& each : pending.known)
            runs.emplace_back(each.seq, each.run);
        std::ranges::sort(runs, {}, [](const auto& each) { return each.first; });
    }
    std::ranges::stable_sort(runs, {}, [](const auto& each) { return each.second.at; });

    const auto found = workOf(meter);
    if (!found)
        return found.error();
    MeterWork& work = **found;
    const bool again = work.newest == pending.set;
    const MeterSeries& series = again ? work.before : work.after;
    if (series.lastAt() && runs.front().second.at <= *series.lastAt()) {
        m_late.emplace(meter, pending.last); // run before what was judged already
        return {};
    }
    const auto judged = judge(series, work, runs);
    if (!judged)
        return judged.error();
    if (const Done taken = appendConsequence(*judged); !taken)
        return taken;
    const SetRecord record = recordOf(m_head.seq, *judged, runs);
    if (!fromIndex && !m_imported)
        m_judged[pending.set] = marked(record, pending.known);
    if (m_newestJudged)
        m_newestJudged = std::max(*m_newestJudged, judged->lastAt.utcMs);
    if (!again)
        work.before = work.after;
    work.after = work.before;
    work.after.changeTo(m_reader.policyAt(record.judged.firstAt));
    work.after.follow(record);
    work.newest = pending.set;
    work.failing = failsAfter(work.failing, record);
    return followVerdict(record, effective(judged->lastAt));
}

Done ActBatch::rejudge(const base::MeterId& meter, Seq because)
{
    m_judged.clear(); // what was judged may be revised below
    m_meters.erase(meter);
    const auto found = workOf(meter);
    const auto ids = m_reader.setsWithRuns(meter);
    const auto stored = m_reader.newestSets(meter, kEndOfTime, std::numeric_limits<int>::max());
    if (!found || !ids || !stored)
        return unread("the sets of '" + meter.value + "'", found, ids, stored);
    MeterWork& work = **found;

    // A set whose runs were all annulled is a set no more.
    for (const auto& set : *stored)
        if (std::ranges::find(*ids, set.judged.set) == ids->end()) {
            acts::SetJudged gone = set.judged;
            gone.runs.clear();
            gone.oldVerdict = set.judged.verdict;
            gone.because = because;
            gone.verdict = Verdict::Partial;
            if (const Done done = appendConsequence(gone); !done)
                return done;
        }

    MeterSeries series(m_reader.policyAt(m_reader.zone().at(m_nowMs)));
    work.before = series;
    work.failing = false;
    for (const auto& id : *ids) {
        const auto loaded = m_reader.runs(id);
        if (!loaded)
            return loaded.error();
        std::vector<std::pair<Seq, acts::ControlRun>> runs;
        for (const auto& each : *loaded)
            runs.emplace_back(each.seq, each.run);
        auto judged = judge(series, work, runs);
        if (!judged)
            return judged.error();
        const auto before = std::ranges::find_if(*stored, [&](const SetRecord& set) { return set.judged.set == id; });
        const bool known = before != stored->end();
        // The newest set carries the sums on, so its numbers must be the new ones even where its conclusion stays.
        const bool carries = id == ids->back() && known && driftText(before->judged.drift) != driftText(judged->drift);
        Seq seq = known ? before->seq : Seq();
        if (!known || carries || !sameConclusion(before->judged, *judged)) {
            if (known) {
                judged->oldVerdict = before->judged.verdict;
                judged->because = because;
            }
            if (const Done done = appendConsequence(*judged); !done)
                return done;
            seq = m_head.seq;
        }
        work.before = series;
        series.changeTo(m_reader.policyAt(judged->firstAt));
        series.follow(recordOf(seq, *judged, runs));
        work.failing = failsAfter(work.failing, recordOf(seq, *judged, runs));
        work.newest = id;
    }
    work.after = series;
    return {};
}

} // namespace mk::store
