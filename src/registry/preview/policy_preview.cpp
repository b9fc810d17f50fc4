// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/preview/policy_preview.h"

#include "registry/comparison/comparison.h"
#include "registry/control/counted_results.h"
#include "registry/control/failure_ladder.h"
#include "registry/lots/expiry.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/new_material.h"

#include <algorithm>
#include <limits>

namespace mk::registry {

namespace {

constexpr std::int64_t kHourMs = 3'600'000;
constexpr std::string_view kExhausted = "ladder-exhausted";
constexpr base::Moment kNever { std::numeric_limits<std::int64_t>::max(), 0 };

/// One meter's history under one policy, to be asked at any moment.
struct Timeline {
    std::vector<SetRecord> sets;
    std::vector<Comparison> comparisons; ///< of all time; asked anew where a round had not ended
    std::vector<PairRecord> pairs;
    std::vector<StopRecord> stops;
    std::vector<StateSpell> states;
    PolicyAt policyAt;
};

/// States that people and events made, without those that a stop gives.
std::vector<StateSpell> statesBeneathStops(const std::vector<StateSpell>& states)
{
    std::vector<StateSpell> beneath = states;
    std::erase_if(beneath, [](const StateSpell& s) { return s.state == MeterState::OnHold || s.state == MeterState::Withdrawn; });
    return beneath;
}

std::optional<StateSpell> spellAt(const std::vector<StateSpell>& states, base::Moment at)
{
    std::optional<StateSpell> last;
    for (const auto& spell : states)
        if (spell.since <= at)
            last = spell;
    return last;
}

std::vector<SetRecord> judgedBy(const PreviewMeter& meter, const Policy& candidate, const Zone& zone)
{
    std::vector<SetRecord> sets;
    MeterSeries series(candidate);
    for (const auto& each : meter.sets) {
        const SetRecord& recorded = each.recorded;
        if (recorded.runs.empty())
            continue;
        std::vector<RunToJudge> runs;
        for (std::size_t i = 0; i < recorded.runs.size(); ++i)
            runs.push_back({ recorded.runs[i].seq, &recorded.runs[i].run, each.contexts[i] });
        const base::Moment first = recorded.runs.front().run.at;
        const bool boundary = std::ranges::any_of(
            meter.boundaries, [&](base::Moment at) { return series.lastAt() && at > *series.lastAt() && at <= first; });
        const auto countedSince = [&](base::Moment from) { return countedResults(sets, from, first, recorded.judged.set); };
        SetRecord judged = recorded;
        judged.judged = series.judge(runs, boundary, zone, countedSince);
        judged.judged.ward = recorded.judged.ward;
        for (std::size_t i = 0; i < judged.runs.size(); ++i)
            judged.runs[i].judged = judged.judged.runs[i];
        series.follow(judged);
        sets.push_back(std::move(judged));
    }
    return sets;
}

/// The stop that stands on record for what happened at `at`: a person may have entered it somewhat later, but before the next of its kind.
const StopRecord* recordedStop(const PreviewMeter& meter, std::string_view cause, base::Moment at, base::Moment next)
{
    const auto found = std::ranges::find_if(
        meter.stops, [&](const StopRecord& s) { return s.stop.cause == cause && s.stop.at >= at && s.stop.at < next; });
    return found == meter.stops.end() ? nullptr : &*found;
}

/// The moment from which so many accepted sets in a row stand behind `since`.
std::optional<base::Moment> acceptedAfter(const std::vector<SetRecord>& sets, base::Moment since, int needed)
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

/// Where the meter stands on the ladder after set `i`, as the ladder's reader has it: from the last accepted set, or a way back through
/// acceptance.
Ladder ladderAfter(const PreviewMeter& meter, const Timeline& line, std::size_t i)
{
    std::size_t first = i;
    while (first > 0 && !isAccepted(line.sets[first - 1]))
        --first;
    for (const auto& spell : meter.states)
        while (spell.state == MeterState::Acceptance && spell.since <= line.sets[i].judged.lastAt && first < i
            && line.sets[first].judged.lastAt < spell.since)
            ++first;
    return climb(std::span(line.sets).subspan(first, i + 1 - first), {});
}

/// A withdrawal ends as it did on record, or as soon as the records show what its return demands.
void withdrawIfExhausted(const PreviewMeter& meter, const Policy& candidate, std::size_t i, base::Moment next, Timeline& line)
{
    const SetRecord& set = line.sets[i];
    const base::Moment at = set.judged.lastAt;
    const auto open = [&](const StopRecord& s) { return s.stop.cause == kExhausted && (!s.endedAt || *s.endedAt > at); };
    if (std::ranges::any_of(line.stops, open) || !ladderAfter(meter, line, i).exhaustedBy)
        return;
    const auto state = spellAt(statesBeneathStops(meter.states), at);
    if (!state || (state->state != MeterState::InService && state->state != MeterState::Reserve))
        return;
    StopRecord stop { set.seq, { meter.meter.act.meter, at, true, std::string(kExhausted), set.seq, true, "preview" }, {}, {} };
    if (const StopRecord* recorded = recordedStop(meter, kExhausted, at, next)) {
        stop.stop.at = recorded->stop.at;
        stop.endedAt = recorded->endedAt;
    } else {
        stop.endedAt = acceptedAfter(line.sets, at, candidate.returnSets);
    }
    line.stops.push_back(stop);
}

void stopByControls(const PreviewMeter& meter, const Policy& candidate, Timeline& line)
{
    const auto beneath = statesBeneathStops(meter.states);
    std::vector<StopRecord> open;
    const auto end = [&](StopRecord& stop, base::Moment at) {
        stop.endedAt = at;
        line.stops.push_back(stop);
    };
    for (std::size_t i = 0; i < line.sets.size(); ++i) {
        const SetRecord& set = line.sets[i];
        const base::Moment at = set.judged.lastAt;
        const base::Moment next = i + 1 < line.sets.size() ? line.sets[i + 1].judged.lastAt : kNever;
        std::erase_if(open, [&](StopRecord& s) { // those with an end of their own
            if (!s.endedAt || *s.endedAt > at)
                return false;
            line.stops.push_back(s);
            return true;
        });
        if (set.judged.verdict == Verdict::Rejected) {
            withdrawIfExhausted(meter, candidate, i, next, line);
            const auto state = spellAt(beneath, at);
            const bool held = std::ranges::any_of(open, [&](const StopRecord& s) { return s.stop.needsSignature || !set.judged.shift; });
            if (held || !state || state->state != MeterState::InService)
                continue;
            StopRecord stop { set.seq, { meter.meter.act.meter, at, false, "control-rejected", set.seq, set.judged.shift, "preview" }, {},
                {} };
            const StopRecord* recorded = recordedStop(meter, "control-rejected", at, next);
            if (set.judged.shift && recorded != nullptr)
                stop.endedAt = recorded->endedAt;
            else if (set.judged.shift)
                stop.endedAt = acceptedAfter(line.sets, at, 1);
            open.push_back(stop);
        } else if (isAccepted(set)) {
            for (auto& stop : open)
                if (!stop.stop.needsSignature)
                    end(stop, at);
            std::erase_if(open, [](const StopRecord& s) { return !s.stop.needsSignature; });
        }
    }
    line.stops.insert(line.stops.end(), open.begin(), open.end());
}

void stopByComparisons(const PreviewMeter& meter, const Policy& candidate, Timeline& line)
{
    for (std::size_t i = 1; i < line.comparisons.size(); ++i) {
        if (line.comparisons[i].judged.outcome != PairOutcome::Outside || line.comparisons[i - 1].judged.outcome != PairOutcome::Outside)
            continue;
        const base::Moment at = *line.comparisons[i].judged.lastAt;
        const PairRecord pair = standingPair(line.comparisons[i]);
        StopRecord stop { pair.seq, { meter.meter.act.meter, at, true, "comparison-failed", pair.seq, true, "preview" }, {}, {} };
        const base::Moment next = i + 1 < line.comparisons.size() ? *line.comparisons[i + 1].judged.lastAt : kNever;
        if (const StopRecord* recorded = recordedStop(meter, "comparison-failed", at, next)) {
            stop.endedAt = recorded->endedAt;
        } else {
            const auto passed = std::find_if(line.comparisons.begin() + static_cast<std::ptrdiff_t>(i), line.comparisons.end(),
                [](const Comparison& c) { return c.judged.outcome == PairOutcome::Inside; });
            const auto accepted = acceptedAfter(line.sets, at, candidate.returnSets);
            if (passed != line.comparisons.end() && accepted)
                stop.endedAt = std::max(*passed->judged.lastAt, *accepted);
        }
        line.stops.push_back(stop);
    }
}

Timeline recordedLine(const PreviewMeter& meter, const PolicyAt& inForce)
{
    Timeline line { {}, {}, meter.pairs, meter.stops, meter.states, inForce };
    for (const auto& set : meter.sets)
        line.sets.push_back(set.recorded);
    return line;
}

/// A hold after a result that was corrected since came from what was known then, not from the policy.
bool staysAsItWas(const PreviewMeter& meter, const StopRecord& stop)
{
    if (stop.stop.cause == "comparison-failed")
        return false;
    if (stop.stop.cause != "control-rejected" && stop.stop.cause != kExhausted)
        return true;
    const PreviewSet* newest = nullptr;
    for (const auto& set : meter.sets)
        if (set.recorded.judged.lastAt <= stop.stop.at)
            newest = &set;
    return newest != nullptr && newest->recorded.judged.verdict != Verdict::Rejected
        && newest->recorded.judged.oldVerdict == Verdict::Rejected;
}

Timeline candidateLine(const PreviewMeter& meter, const Policy& candidate, const Zone& zone)
{
    Timeline line { judgedBy(meter, candidate, zone), {}, {}, {}, statesBeneathStops(meter.states),
        [&candidate](base::Moment) -> const Policy& { return candidate; } };
    for (const auto& pair : meter.pairs) {
        PairRecord judged = pair;
        judged.judged = judgePair(pair.pair, meter.model ? &*meter.model : nullptr, candidate);
        line.pairs.push_back(std::move(judged));
    }
    if (!line.pairs.empty())
        line.comparisons = comparisonsOf(line.pairs, kNever, line.policyAt);
    for (const auto& stop : meter.stops)
        if (staysAsItWas(meter, stop))
            line.stops.push_back(stop);
    stopByControls(meter, candidate, line);
    stopByComparisons(meter, candidate, line);
    return line;
}

void historyOfSets(const PreviewMeter& meter, const Timeline& line, std::span<const PreviewVial> vials, base::Moment at,
    const Policy& policy, const Zone& zone, MeterHistory& history)
{
    for (auto set = line.sets.rbegin(); set != line.sets.rend(); ++set) {
        if (set->judged.firstAt > at)
            continue;
        if (!history.newestSet)
            history.newestSet = *set;
        if (!history.newestAccepted && isAccepted(*set) && set->judged.lastAt <= at)
            history.newestAccepted = *set;
        if (!history.newestCounted && set->judged.drift.counted && set->judged.lastAt <= at)
            history.newestCounted = *set;
        for (const auto& run : set->runs)
            if (std::holds_alternative<ErrorCode>(run.run.result) && run.run.at <= at
                && run.run.at.utcMs > at.utcMs - policy.errorCodeHours * kHourMs)
                history.errorCodes.push_back(run.run.at);
        const bool farBack = set->judged.lastAt.utcMs < at.utcMs - policy.errorCodeHours * kHourMs;
        if (history.newestAccepted && history.newestCounted && farBack)
            break;
    }
    if (!history.newestSet)
        return;
    const auto vial = std::ranges::find_if(
        vials, [&](const PreviewVial& v) { return v.vial->vial.vial == history.newestSet->runs.back().run.stripVial; });
    if (vial == vials.end())
        return;
    history.stripVial = *vial->vial;
    if (vial->lot != nullptr)
        history.stripLot = *vial->lot;
    if (!asksForOpenVials(history, policy, at))
        return;
    for (const auto& v : vials) {
        const bool here = !v.vial->vial.ward || *v.vial->vial.ward == history.ward;
        const bool open = v.vial->vial.opened && *v.vial->vial.opened <= at && !(v.vial->ended && v.vial->ended->act.at <= at);
        if (here && open && v.lot != nullptr && v.lot->lot.model == meter.meter.act.model
            && againstStripVial(v.vial, v.lot, at, zone).empty())
            history.openStripVials.push_back({ *v.vial });
    }
    history.otherStripVialOpen = history.stripVial->ended && history.stripVial->ended->act.at <= at && !history.openStripVials.empty();
    markControlled(history.openStripVials, line.sets, at);
}

base::WardId wardOn(const PreviewMeter& meter, base::Moment at)
{
    base::WardId ward;
    for (const auto& [from, id] : meter.wards)
        if (from <= at)
            ward = id;
    return ward;
}

Fitness fitnessAt(const PreviewMeter& meter, const Timeline& line, std::span<const PreviewVial> vials, base::Moment at, bool stopsGiveState,
    const Zone& zone)
{
    const Policy& policy = line.policyAt(at);
    MeterHistory history;
    history.meter = meter.meter;
    history.model = meter.model;
    history.ward = wardOn(meter, at);
    for (const auto& stop : line.stops)
        if (stop.stop.at <= at && (!stop.endedAt || *stop.endedAt > at))
            history.openStops.push_back(stop);
    history.state = spellAt(line.states, at);
    if (stopsGiveState && history.state && history.state->state == MeterState::InService && !history.openStops.empty()) {
        const bool withdrawn = std::ranges::any_of(history.openStops, [](const StopRecord& s) { return s.stop.withdrawn; });
        history.state->state = withdrawn ? MeterState::Withdrawn : MeterState::OnHold;
    }
    historyOfSets(meter, line, vials, at, policy, zone, history);
    addIncidents(history, meter.incidents, at, policy);
    for (const auto& comparison : comparisonsOf(line.pairs, at, line.policyAt)) {
        history.newestPair = standingPair(comparison);
        if (comparison.judged.outcome == PairOutcome::Inside)
            history.newestPassedPair = history.newestPair;
    }
    for (const auto& each : meter.calibrations)
        if (each.act.at <= at)
            history.calibrations.push_back(each);
    return assess(history, policy, at, zone);
}

bool advisesWithdrawal(const Fitness& fitness)
{
    return fitness.state == MeterState::Withdrawn || (fitness.state == MeterState::InService && fitness.advice == Advice::Withdraw);
}

} // namespace

PreviewOfMeter previewPolicy(const PreviewMeter& meter, std::span<const PreviewVial> vials, const Policy& candidate,
    const PolicyAt& inForce, const PreviewPeriod& period, const Zone& zone)
{
    const Timeline stood = recordedLine(meter, inForce);
    const Timeline line = candidateLine(meter, candidate, zone);
    PreviewOfMeter preview { meter.meter.act.meter, wardOn(meter, period.now), {}, 0 };
    const base::Moment from = zone.startOf(period.from);
    for (const auto& set : line.sets) {
        if (set.judged.lastAt < from || set.judged.lastAt > period.now)
            continue;
        const auto recorded = std::ranges::find_if(stood.sets, [&](const SetRecord& s) { return s.judged.set == set.judged.set; });
        preview.otherVerdicts += recorded != stood.sets.end() && recorded->judged.verdict != set.judged.verdict ? 1U : 0U;
    }
    for (base::Date day = period.from; day <= period.to; day = base::addDays(day, 1)) {
        const base::Moment noon = std::min(zone.resolve({ day, 12 * 3'600'000 }).first, period.now);
        if (meter.meter.act.enrolled > noon)
            continue;
        const Fitness then = fitnessAt(meter, stood, vials, noon, false, zone);
        const Fitness would = fitnessAt(meter, line, vials, noon, true, zone);
        PreviewDay shown { day, would.usable, advisesWithdrawal(would), then.usable, advisesWithdrawal(then), {}, {} };
        for (const auto& reason : would.reasons)
            if (reason.blocks)
                shown.reasons.emplace_back(code(reason.code));
        for (const auto& stop : line.stops)
            if (zone.dateOf(stop.stop.at) == day)
                shown.stopped.push_back(stop.stop.cause);
        preview.days.push_back(std::move(shown));
    }
    return preview;
}

} // namespace mk::registry
