// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/judging.h"

#include "base/unread.h"
#include "registry/control/counted_results.h"
#include "registry/facts/run_context.h"
#include "registry/meter/usual_events.h"
#include "registry/desk/nonconformity.h"
#include "registry/desk/stops.h"

#include <algorithm>
#include <limits>
#include <utility>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

constexpr int kSetsThatSpeak = 26; ///< newest sets among which one that says something is looked for

bool sameRun(const acts::JudgedRun& a, const acts::JudgedRun& b)
{
    return a.run == b.run && a.valid == b.valid && a.invalidBecause == b.invalidBecause && a.verdict == b.verdict && a.rules == b.rules
        && a.inRange == b.inRange && a.z == b.z && a.counted == b.counted && a.attempt == b.attempt && a.low == b.low && a.high == b.high
        && a.mean == b.mean && a.sd == b.sd && a.stage == b.stage && a.stripLot == b.stripLot && a.controlLot == b.controlLot;
}

/// What a set on record was judged on. A typed SD may have been mended since; the base stays.
std::vector<stats::LevelBasis> recordedBases(const SetRecord& recorded, const stats::SetOnLots& set)
{
    std::vector<stats::LevelBasis> bases;
    if (!recorded.judged.drift.usual || recorded.judged.drift.usual->stripLot.value != set.stripLot)
        return bases;
    for (const auto& level : recorded.judged.drift.usual->levels) {
        const auto control = std::ranges::find(set.controls, static_cast<std::size_t>(level.level), &stats::ControlOnLots::level);
        if (!level.learned || control == set.controls.end() || control->controlLot != level.controlLot.value)
            continue;
        bases.push_back({ control->level, level.base, control->cv.value_or(level.cv), level.limit, level.frozen,
            level.othersSlow.value_or(0), static_cast<std::size_t>(level.others.value_or(0)), level.othersMove });
    }
    return bases;
}

/// Levels that the other set has on the same lots.
void removeLevelsOf(stats::SetOnLots& set, const stats::SetOnLots& other)
{
    if (set.stripLot != other.stripLot)
        return;
    std::erase_if(set.controls, [&](const stats::ControlOnLots& control) {
        return std::ranges::any_of(other.controls,
            [&](const stats::ControlOnLots& known) { return known.level == control.level && known.controlLot == control.controlLot; });
    });
}

/// Do two findings about the usual value tell a reader the same?
bool sameTold(const std::optional<acts::UsualFinding>& a, const std::optional<acts::UsualFinding>& b)
{
    if (!a || !b)
        return a.has_value() == b.has_value();
    return a->told == b->told && a->began == b->began && a->ownStop == b->ownStop && a->lot == b->lot && a->stops == b->stops
        && standsApart(*a) == standsApart(*b);
}

/// Would a reader of the two verdicts come to another conclusion?
bool sameConclusion(const acts::SetJudged& a, const acts::SetJudged& b)
{
    return a.verdict == b.verdict && a.rules == b.rules && a.shift == b.shift && a.segmentStart == b.segmentStart && a.attempt == b.attempt
        && a.firstAt == b.firstAt && a.lastAt == b.lastAt && a.drift.flags == b.drift.flags
        && a.drift.beyondHalfLimit == b.drift.beyondHalfLimit && sameTold(a.drift.usual, b.drift.usual)
        && std::ranges::equal(a.runs, b.runs, sameRun);
}

SetRecord recordOf(Seq seq, const acts::SetJudged& judged, const Judging::Runs& runs)
{
    SetRecord record { seq, judged, {} };
    for (std::size_t i = 0; i < runs.size(); ++i)
        record.runs.push_back({ runs[i].first, runs[i].first, runs[i].second, judged.runs[i] });
    return record;
}

Judging::Runs typedRuns(const std::vector<RunRecord>& records)
{
    Judging::Runs runs;
    for (const auto& each : records)
        runs.emplace_back(each.seq, each.run);
    return runs;
}

} // namespace

Judging::Judging(Facts& facts, Entering& entering, const Occasion& occasion, MeterWorks& works)
    : m_facts(facts),
      m_entering(entering),
      m_occasion(occasion),
      m_works(works),
      m_looksBack(occasion.replayed)
{
}

Desk Judging::deskOf(const std::string& person)
{
    return { m_facts, m_entering, *this, m_occasion, person };
}

Done Judging::expect(Seq seq, const acts::ControlRun& run, std::vector<RunRecord> known, const std::string& person)
{
    auto found = m_waiting.find(run.meter);
    if (found != m_waiting.end() && found->second.set != run.set) {
        if (const Done settled = settleMeter(run.meter); !settled)
            return settled;
        found = m_waiting.end();
    }
    if (found == m_waiting.end())
        found = m_waiting.emplace(run.meter, Waiting { run.set, std::move(known), {}, seq, person }).first;
    found->second.runs.emplace_back(seq, run);
    found->second.last = seq;
    return {};
}

Done Judging::settle()
{
    while (!m_waiting.empty()) {
        // In the order in which their last runs were recorded.
        const auto next = std::ranges::min_element(m_waiting, {}, [](const auto& each) { return each.second.last; });
        if (const Done settled = settleMeter(base::MeterId(next->first)); !settled)
            return settled;
    }
    while (!m_late.empty()) {
        const auto [meter, late] = *m_late.begin();
        m_late.erase(m_late.begin());
        if (const Done followed = followLate(meter, late); !followed)
            return followed;
    }
    return {};
}

Done Judging::followLate(const base::MeterId& meter, const Late& late)
{
    if (const Done judged = rejudge(meter, late.because, late.person); !judged)
        return judged;
    const auto newest = m_facts.newestSets(meter, m_occasion.now, kSetsThatSpeak);
    if (!newest)
        return newest.error();
    // A set that is only partial, or may not count, hides no failure behind it.
    auto speaks = std::ranges::find_if(
        *newest, [](const SetRecord& set) { return set.judged.verdict != Verdict::Partial && set.judged.verdict != Verdict::Invalid; });
    if (speaks == newest->end() || speaks->judged.verdict != Verdict::Rejected)
        speaks = newest->begin();
    if (speaks == newest->end())
        return {};
    const Desk desk = deskOf(late.person);
    return followVerdict(desk, *speaks, desk.effective(speaks->judged.lastAt));
}

Done Judging::settleMeter(const base::MeterId& meter)
{
    const auto found = m_waiting.find(meter);
    if (found == m_waiting.end())
        return {};
    const Waiting waiting = std::move(found->second);
    m_waiting.erase(found);
    return judgeWaiting(waiting);
}

Result<MeterWork*> Judging::workOf(const base::MeterId& meter)
{
    auto found = m_works.meters.find(meter);
    if (found == m_works.meters.end()) {
        auto work = loadWork(m_facts, meter, m_occasion.now);
        if (!work)
            return work.error();
        found = m_works.meters.emplace(meter, std::move(work).value()).first;
    }
    if (!found->second.statesKnown) {
        auto states = m_facts.states(meter);
        if (!states)
            return states.error();
        found->second.states = std::move(states).value();
        found->second.statesKnown = true;
    }
    if (!found->second.eventsKnown)
        if (const Done events = loadEvents(m_facts, meter, found->second); !events)
            return events.error();
    return &found->second;
}

Result<MeterState> Judging::stateAt(const base::MeterId& meter, Moment at)
{
    const auto work = workOf(meter);
    if (!work)
        return work.error();
    return stateIn((*work)->states, at);
}

Result<bool> Judging::fails(const base::MeterId& meter)
{
    const auto work = workOf(meter);
    if (!work)
        return work.error();
    return (*work)->failing;
}

const Judging::Waiting* Judging::waitingOn(const base::MeterId& meter) const
{
    const auto found = m_waiting.find(meter);
    return found == m_waiting.end() ? nullptr : &found->second;
}

const Judging::Fresh* Judging::freshlyJudged(const base::SetId& set) const
{
    const auto found = m_fresh.find(set);
    return found == m_fresh.end() ? nullptr : &found->second;
}

void Judging::entered(const Act& act)
{
    if (std::holds_alternative<acts::ControlRun>(act) || std::holds_alternative<acts::SetJudged>(act))
        return;
    if (std::holds_alternative<acts::MeterEnrolled>(act))
        m_works.groups.forget(); // so many meters may have a base of their own
    if (const auto meter = m_works.meters.find(base::MeterId(subjectOf(act))); meter != m_works.meters.end())
        meter->second.statesKnown = meter->second.eventsKnown = false;
}

Done Judging::markLate(const std::string& id, std::optional<Moment> since, Seq because, const std::string& person)
{
    if (!m_newestJudged) {
        const auto newest = m_facts.newestJudged();
        if (!newest)
            return newest.error();
        m_newestJudged = *newest ? (*newest)->utcMs : std::numeric_limits<std::int64_t>::min();
    }
    if (since && since->utcMs > *m_newestJudged)
        return {}; // nothing was judged without knowing it
    const auto used = m_facts.metersThatUsed(id);
    if (!used)
        return used.error();
    for (const auto& meter : *used)
        m_late.emplace(meter, Late { because, person });
    return {};
}

/// By the policy in force when the set began: a change never judges the past again.
Result<acts::SetJudged> Judging::judge(
    const MeterSeries& before, const MeterWork& work, const Runs& runs, const std::optional<SetRecord>& asRecorded)
{
    MeterSeries series = before;
    series.changeTo(m_facts.policyAt(runs.front().second.at));
    std::vector<RunToJudge> inputs;
    for (const auto& [seq, run] : runs) {
        const auto state = stateAt(run.meter, run.at);
        const auto context = state ? contextOf(m_facts, run, { *state, seq }) : Result<RunContext>(state.error());
        if (!context)
            return context.error();
        inputs.push_back({ seq, &run, *context });
    }
    const acts::ControlRun& first = runs.front().second;
    const auto since = [&](Moment at) { return series.lastAt() && at > *series.lastAt() && at <= first.at; };
    const bool boundary = std::ranges::any_of(work.boundaries, since, &SegmentBoundary::at);
    const auto events = usualEvents(
        m_facts, first.meter, work.usualBoundaries, work.taken, series.lastAt().value_or(base::kBeginningOfTime), first.at);
    if (!events)
        return events.error();
    Done earlier; // a bias of results that could not be read would be another verdict
    const auto countedSince = [&](Moment from) {
        const auto sets = m_facts.sets(first.meter, from, first.at);
        if (sets)
            return countedResults(*sets, from, first.at, first.set);
        earlier = sets.error();
        return std::vector<CountedResult>();
    };
    const auto bases = [&](const stats::SetOnLots& set) {
        auto known = basesOf(set, first.meter, m_facts.policyAt(first.at), asRecorded);
        if (known)
            return std::move(known).value();
        earlier = known.error();
        return std::vector<stats::LevelBasis>();
    };
    acts::SetJudged judged = series.judge(inputs, boundary, *events, m_facts.zone(), { countedSince, bases });
    if (!earlier)
        return earlier.error();
    auto ward = m_facts.wardAt(first.meter, judged.lastAt);
    if (!ward)
        return ward.error();
    judged.ward = std::move(ward).value();
    return judged;
}

/// What a set was judged on stays: late facts about other sets do not move it, and a level that could not be judged then is not judged now.
/// A level that it did not have is asked for.
Result<std::vector<stats::LevelBasis>> Judging::basesOf(
    const stats::SetOnLots& set, const base::MeterId& meter, const Policy& policy, const std::optional<SetRecord>& asRecorded)
{
    std::vector<stats::LevelBasis> bases = asRecorded ? recordedBases(*asRecorded, set) : std::vector<stats::LevelBasis>();
    stats::SetOnLots asked = set;
    if (asRecorded && asRecorded->judged.drift.usual)
        removeLevelsOf(asked, setOnLots(asRecorded->runs));
    if (asked.controls.empty())
        return bases;
    const auto enrolled = m_facts.meter(meter);
    if (!enrolled || *enrolled == nullptr)
        return enrolled ? Result<std::vector<stats::LevelBasis>>(bases) : enrolled.error();
    if (m_looksBack)
        m_works.groups.forget(); // the others went on meanwhile, and not here
    auto others = m_works.groups.basesFor(m_facts, (*enrolled)->act.model, asked, policy);
    if (!others)
        return others.error();
    std::ranges::move(*others, std::back_inserter(bases));
    std::ranges::sort(bases, {}, &stats::LevelBasis::level);
    return bases;
}

/// The others see the meter as that set left it.
Done Judging::standAfter(const SetRecord& set, const MeterSeries& before, const std::optional<SetRecord>& asRecorded)
{
    const auto& usual = set.judged.drift.usual;
    if (!usual)
        return {};
    const auto enrolled = m_facts.meter(set.judged.meter);
    if (!enrolled || *enrolled == nullptr)
        return enrolled ? Done() : Done(enrolled.error());
    stats::SetOnLots fresh = setOnLots(set.runs);
    if (asRecorded) {
        const stats::SetOnLots known = setOnLots(asRecorded->runs);
        std::erase_if(fresh.controls,
            [&](const auto& control) { return std::ranges::count(known.controls, control.level, &stats::ControlOnLots::level) > 0; });
    }
    m_works.groups.follow(
        (*enrolled)->act.model, fresh, before.usualState(), *usual, set.judged.lastAt, m_facts.policyAt(set.judged.firstAt));
    return {};
}

/// Oldest first; of one moment in the order of their entries.
Result<Judging::Runs> Judging::runsOf(const Waiting& waiting, bool fromFacts)
{
    Runs runs = waiting.runs;
    if (fromFacts) {
        const auto stored = m_facts.runs(waiting.set);
        if (!stored)
            return stored.error();
        runs = typedRuns(*stored);
    } else {
        std::ranges::move(typedRuns(waiting.known), std::back_inserter(runs));
        std::ranges::sort(runs, {}, [](const auto& each) { return each.first; });
    }
    std::ranges::stable_sort(runs, {}, [](const auto& each) { return each.second.at; });
    return runs;
}

Done Judging::judgeWaiting(const Waiting& waiting)
{
    const base::MeterId& meter = waiting.runs.front().second.meter;
    const bool fromFacts = !waiting.known.empty() && !m_runsOnly; // one of them may have been corrected since
    const auto runs = runsOf(waiting, fromFacts);
    const auto found = runs ? workOf(meter) : Result<MeterWork*>(runs.error());
    if (!found)
        return found.error();
    MeterWork& work = **found;
    const bool again = work.newest == waiting.set;
    const MeterSeries& series = again ? work.before : work.after;
    if (series.lastAt() && runs->front().second.at <= *series.lastAt()) {
        m_late.emplace(meter, Late { waiting.last, waiting.person }); // run before what was judged already
        return {};
    }
    auto asRecorded = again || m_occasion.replayed ? m_facts.set(waiting.set)
                                                   : Result<std::optional<SetRecord>>(std::optional<SetRecord>());
    if (!asRecorded)
        return asRecorded.error();
    const auto judged = judge(series, work, *runs, *asRecorded);
    if (!judged)
        return judged.error();
    const Desk desk = deskOf(waiting.person);
    const auto seq = desk.enter(*judged);
    if (!seq)
        return seq.error();
    const SetRecord record = recordOf(*seq, *judged, *runs);
    if (!fromFacts && !m_occasion.imported)
        m_fresh[waiting.set] = { record, waiting.known };
    if (m_newestJudged)
        m_newestJudged = std::max(*m_newestJudged, judged->lastAt.utcMs);
    if (const Done stands = standAfter(record, series, *asRecorded); !stands)
        return stands;
    if (const Done lot = followLotEffect(desk, record); !lot)
        return lot;
    work.goOn(record, m_facts.policyAt(record.judged.firstAt), again);
    return followVerdict(desk, record, desk.effective(judged->lastAt));
}

/// A set whose runs were all annulled is a set no more.
Done Judging::endEmptiedSets(
    const std::vector<SetRecord>& stored, const std::vector<base::SetId>& withRuns, Seq because, const std::string& person)
{
    for (const auto& set : stored) {
        if (std::ranges::find(withRuns, set.judged.set) != withRuns.end())
            continue;
        acts::SetJudged gone = set.judged;
        gone.runs.clear();
        gone.oldVerdict = set.judged.verdict;
        gone.because = because;
        gone.verdict = Verdict::Partial;
        if (const Done done = deskOf(person).letFollow(gone); !done)
            return done;
    }
    return {};
}

Result<std::vector<Judging::Retried>> Judging::retry(const base::MeterId& meter, Seq run, const std::optional<acts::ControlRun>& changed)
{
    const auto found = workOf(meter);
    const auto ids = m_facts.setsWithRuns(meter);
    if (!found || !ids)
        return base::unread("the sets of '%1' cannot be read; run verify", meter.value, found, ids);
    MeterWork work = **found;
    work.before = work.after = MeterSeries(m_facts.policyAt(m_occasion.now));
    std::vector<Retried> all;
    for (const auto& id : *ids) {
        const auto loaded = m_facts.runs(id);
        const auto recorded = m_facts.set(id);
        if (!loaded || !recorded)
            return loaded ? recorded.error() : loaded.error();
        Runs runs = typedRuns(*loaded);
        for (auto& each : runs)
            if (each.first == run && changed)
                each.second = *changed;
        if (!changed)
            std::erase_if(runs, [&](const auto& each) { return each.first == run; });
        std::ranges::stable_sort(runs, {}, [](const auto& each) { return each.second.at; });
        auto judged = runs.empty() ? Result<acts::SetJudged>(acts::SetJudged()) : judge(work.after, work, runs, *recorded);
        if (!judged)
            return judged.error();
        if (*recorded)
            all.push_back({ (*recorded)->judged.verdict, runs.empty() ? std::nullopt : std::optional(judged->verdict) });
        if (!runs.empty())
            work.goOn(recordOf(*recorded ? (*recorded)->seq : Seq(), *judged, runs), m_facts.policyAt(judged->firstAt));
    }
    return all;
}

Done Judging::rejudge(const base::MeterId& meter, Seq because, const std::string& person)
{
    m_fresh.clear(); // what was judged may be revised below
    m_looksBack = true;
    const Done judged = judgeAgain(meter, because, person);
    m_looksBack = m_occasion.replayed;
    m_works.groups.forget();
    return judged;
}

Done Judging::judgeAgain(const base::MeterId& meter, Seq because, const std::string& person)
{
    forget(meter);
    const auto found = workOf(meter);
    const auto ids = m_facts.setsWithRuns(meter);
    const auto stored = m_facts.newestSets(meter, base::kEndOfTime, std::numeric_limits<int>::max());
    if (!found || !ids || !stored)
        return base::unread("the sets of '%1' cannot be read; run verify", meter.value, found, ids, stored);
    if (const Done ended = endEmptiedSets(*stored, *ids, because, person); !ended)
        return ended;

    MeterWork& work = **found;
    work.before = work.after = MeterSeries(m_facts.policyAt(m_occasion.now));
    work.failing = false;
    for (const auto& id : *ids) {
        const auto loaded = m_facts.runs(id);
        if (!loaded)
            return loaded.error();
        const Runs runs = typedRuns(*loaded);
        const auto known = std::ranges::find_if(*stored, [&](const SetRecord& set) { return set.judged.set == id; });
        const auto asRecorded = known == stored->end() ? std::nullopt : std::optional(*known);
        auto judged = judge(work.after, work, runs, asRecorded);
        if (!judged)
            return judged.error();
        // The newest set carries the sums on, so its numbers must be the new ones even where its conclusion stays.
        const bool carries = id == ids->back() && asRecorded && asRecorded->judged.drift != judged->drift;
        Seq seq = asRecorded ? asRecorded->seq : Seq();
        if (!asRecorded || carries || !sameConclusion(asRecorded->judged, *judged)) {
            if (asRecorded) {
                judged->oldVerdict = asRecorded->judged.verdict;
                judged->because = because;
            }
            const auto entered = deskOf(person).enter(*judged);
            if (!entered)
                return entered.error();
            seq = *entered;
        }
        work.goOn(recordOf(seq, *judged, runs), m_facts.policyAt(judged->firstAt));
    }
    return {};
}

} // namespace mk::registry::desk
