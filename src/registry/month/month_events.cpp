// SPDX-License-Identifier: GPL-3.0-or-later
// What happened to the meters of a month: comparisons, look-backs, cleaning, proficiency samples.
#include "registry/month/month_events.h"

#include "registry/comparison/comparison.h"
#include "registry/facts/eqa_samples.h"
#include "registry/meter/lookback.h"
#include "registry/meter/nonconformities.h"
#include "registry/month/month_scope.h"

#include <algorithm>
#include <ranges>

namespace mk::registry {

using base::Moment;
using base::Result;
using base::Seq;

MonthStretch stretchOf(const MonthFigures& figures, const Zone& zone)
{
    MonthStretch stretch;
    stretch.start = zone.startOf(firstDayOf(figures.month));
    stretch.end = zone.endOf(lastDayOf(figures.month));
    stretch.by = std::min(figures.cutOff, base::plusMs(stretch.end, -1));
    return stretch;
}

MonthScope::MonthScope(const MonthEventsInput& input) : m_in(input), m_stretch(stretchOf(input.figures, input.facts.zone()))
{
    for (const auto& meter : input.meters)
        if (shows(meter.meter.act.meter))
            m_shown.push_back(&meter);
}

bool MonthScope::shows(const base::MeterId& meter) const
{
    return std::ranges::find(m_in.figures.meters, meter, &MeterMonth::meter) != m_in.figures.meters.end();
}

bool MonthScope::onWard(const base::MeterId& meter, Moment at) const
{
    const auto found = std::ranges::find_if(m_in.meters, [&](const MonthMeterInput& m) { return m.meter.act.meter == meter; });
    if (found == m_in.meters.end())
        return true;
    base::WardId ward = found->wards.empty() ? found->meter.act.ward : found->wards.front().ward;
    for (const auto& spell : found->wards)
        if (spell.since <= at)
            ward = spell.ward;
    return isWard(ward);
}

std::vector<const SetRecord*> MonthScope::setsOf(const MonthMeterInput& meter) const
{
    std::vector<const SetRecord*> sets;
    for (const auto& set : meter.sets)
        if (m_stretch.holds(set.judged.lastAt) && onWard(meter.meter.act.meter, set.judged.lastAt))
            sets.push_back(&set);
    return sets;
}

const Reason* MonthScope::reason(const base::MeterId& meter, ReasonCode code) const
{
    const auto fitness = m_in.standing.find(meter);
    if (fitness == m_in.standing.end())
        return nullptr;
    const auto& reasons = fitness->second.reasons;
    const auto found = std::ranges::find(reasons, code, &Reason::code);
    return found == reasons.end() ? nullptr : &*found;
}

namespace {

MonthComparison madeComparison(const base::MeterId& meter, const std::vector<PairRecord>& pairs, ComparisonStanding standing, Moment at)
{
    MonthComparison made;
    made.meter = meter;
    made.standing = standing;
    made.at = at;
    made.round = pairs.front().pair.round;
    for (const auto& pair : pairs) {
        made.pairs.push_back(pair.pair.pair);
        made.evidence.push_back(pair.seq);
    }
    return made;
}

/// Those that were made in the month; pairs that no comparison could use stand each for itself.
void addMade(const MonthScope& scope, const base::MeterId& meter, std::vector<PairRecord> pairs, std::vector<MonthComparison>& all)
{
    std::ranges::stable_sort(pairs, {}, [](const PairRecord& pair) { return pair.judged.at; });
    const auto comparisons = comparisonsOf(
        pairs, scope.stretch().by, [&](Moment at) -> const Policy& { return scope.facts().policyAt(at); });
    std::vector<Seq> told;
    for (const auto& each : comparisons) {
        for (const auto& pair : each.pairs)
            told.push_back(pair.seq);
        const auto standing = each.judged.outcome == PairOutcome::Inside ? ComparisonStanding::Passed : ComparisonStanding::Failed;
        const Moment newest = std::ranges::max(each.pairs | std::views::transform([](const PairRecord& p) { return p.judged.at; }));
        if (scope.stretch().holds(newest))
            all.push_back(madeComparison(meter, each.pairs, standing, newest));
    }
    for (const auto& pair : pairs)
        if (scope.stretch().holds(pair.judged.at) && std::ranges::find(told, pair.seq) == told.end())
            all.push_back(madeComparison(meter, { pair }, ComparisonStanding::Excluded, pair.judged.at));
}

Moment dueOf(const Reason& reason, Moment otherwise)
{
    const auto* overdue = std::get_if<Overdue>(&reason.facts);
    return overdue == nullptr ? otherwise : overdue->due;
}

/// Was the meter on the ward and not out of its hands at some time of the stretch?
bool wasInUse(const MonthMeterInput& meter, const TimeSpan& span)
{
    for (std::size_t i = 0; i < meter.states.size(); ++i) {
        const auto& spell = meter.states[i];
        const bool inUse = spell.state == MeterState::InService || spell.state == MeterState::OnHold;
        const bool reaches = spell.since < span.to && (i + 1 == meter.states.size() || meter.states[i + 1].since > span.from);
        if (inUse && reaches)
            return true;
    }
    return false;
}

bool inWardsHands(const MonthMeterInput& meter, Moment at)
{
    std::optional<MeterState> state;
    for (const auto& spell : meter.states)
        if (spell.since <= at)
            state = spell.state;
    return state && *state != MeterState::Retired && *state != MeterState::Missing && *state != MeterState::AtRepair;
}

/// When a cleaning at intervals was owed and not logged, within the month.
std::vector<TimeSpan> cleaningOwed(const MonthScope& scope, const MonthMeterInput& meter, const base::Period& interval)
{
    std::vector<Moment> cleaned;
    for (const auto& incident : meter.incidents)
        if (incident.act.what == IncidentKind::Cleaned && incident.act.at <= scope.stretch().by)
            cleaned.push_back(incident.act.at);
    std::ranges::sort(cleaned);
    cleaned.push_back(scope.stretch().by);
    std::vector<TimeSpan> owed;
    Moment from = meter.meter.act.enrolled;
    for (const Moment next : cleaned) {
        const TimeSpan span { std::max(later(from, interval, scope.zone()), scope.stretch().start), next };
        if (span.from < span.to && wasInUse(meter, span))
            owed.push_back({ scope.zone().at(span.from.utcMs), scope.zone().at(span.to.utcMs) });
        from = next;
    }
    return owed;
}

MonthCleaning cleaningOf(const MonthScope& scope, const MonthMeterInput& meter)
{
    MonthCleaning cleaning;
    cleaning.meter = meter.meter.act.meter;
    for (const auto& incident : meter.incidents) {
        const bool told = incident.act.what == IncidentKind::Cleaned || incident.act.what == IncidentKind::Soiled;
        if (!told || !scope.stretch().holds(incident.act.at))
            continue;
        cleaning.logged += incident.act.what == IncidentKind::Cleaned ? 1 : 0;
        cleaning.evidence.push_back(incident.seq);
    }
    const auto& interval = scope.facts().policyAt(scope.stretch().by).cleaningInterval;
    cleaning.asked = interval.has_value();
    if (interval)
        cleaning.overdue = cleaningOwed(scope, meter, *interval);
    const Reason* reason = scope.reason(cleaning.meter, ReasonCode::CleaningOverdue);
    cleaning.missing = reason != nullptr && inWardsHands(meter, scope.stretch().by);
    if (cleaning.missing)
        for (const Seq seq : reason->evidence)
            if (std::ranges::find(cleaning.evidence, seq) == cleaning.evidence.end())
                cleaning.evidence.push_back(seq);
    return cleaning;
}

/// What was recorded later than the month's end is left out.
MonthProficiency sampleAtEnd(const MonthScope& scope, EqaSample sample)
{
    if (sample.returned && sample.returned->act.at > scope.stretch().by)
        sample.returned.reset();
    if (sample.scored && sample.scored->act.at > scope.stretch().by)
        sample.scored.reset();
    MonthProficiency told { sample, judgeEqa(sample, scope.stretch().by, scope.zone()) };
    told.evidence.push_back(sample.received.seq);
    if (sample.returned)
        told.evidence.push_back(sample.returned->seq);
    if (sample.scored)
        told.evidence.push_back(sample.scored->seq);
    return told;
}

bool ofThisMonth(const MonthStretch& stretch, const MonthProficiency& told)
{
    const EqaSample& sample = told.sample;
    const bool due = stretch.start <= sample.received.act.due && sample.received.act.due < stretch.end;
    return due || told.judged.band == EqaBand::Waiting || stretch.holds(sample.received.act.at)
        || (sample.returned && stretch.holds(sample.returned->act.at)) || (sample.scored && stretch.holds(sample.scored->act.at));
}

} // namespace

Result<std::vector<MonthComparison>> monthComparisons(const MonthScope& scope)
{
    std::vector<MonthComparison> all;
    for (const auto* meter : scope.shown()) {
        const base::MeterId& id = meter->meter.act.meter;
        const auto pairs = scope.facts().pairs(id);
        if (!pairs)
            return pairs.error();
        addMade(scope, id, *pairs, all);
        if (const Reason* reason = scope.reason(id, ReasonCode::ComparisonOverdue); reason && inWardsHands(*meter, scope.stretch().by)) {
            MonthComparison owed;
            owed.meter = id;
            owed.standing = ComparisonStanding::Overdue;
            owed.at = dueOf(*reason, scope.stretch().by);
            owed.evidence = reason->evidence;
            all.push_back(std::move(owed));
        }
    }
    std::ranges::stable_sort(all, {}, &MonthComparison::at);
    return all;
}

Result<std::vector<MonthLookback>> monthLookbacks(const MonthScope& scope)
{
    const auto& [start, end, by] = scope.stretch();
    std::vector<MonthLookback> all;
    for (const auto* meter : scope.shown())
        for (const auto& record : meter->lookbacks) {
            if (record.lookback.at > by || (record.closedAt && *record.closedAt < start))
                continue;
            MonthLookback told { record };
            told.evidence.push_back(record.seq);
            told.open = !asItStood(record, by).closedBy; // who decided it later is said all the same
            const auto assigned = scope.facts().facts<acts::LookbackAssigned>("entry " + std::to_string(record.seq.value));
            const auto closing = closingOf(scope.facts(), record);
            if (!assigned || !closing)
                return assigned ? closing.error() : assigned.error();
            for (const auto& each : *assigned)
                if (each.act.at <= by) {
                    told.assigned = each.act;
                    told.evidence.push_back(each.seq);
                }
            if (*closing)
                told.closedBy = (*closing)->by;
            if (record.closedBy)
                told.evidence.push_back(*record.closedBy);
            all.push_back(std::move(told));
        }
    std::ranges::stable_sort(all, {}, [](const MonthLookback& told) { return told.record.lookback.at; });
    return all;
}

std::vector<MonthCleaning> monthCleaning(const MonthScope& scope)
{
    std::vector<MonthCleaning> all;
    for (const auto* meter : scope.shown()) {
        MonthCleaning cleaning = cleaningOf(scope, *meter);
        if (cleaning.asked || cleaning.missing || !cleaning.evidence.empty())
            all.push_back(std::move(cleaning));
    }
    return all;
}

Result<std::vector<MonthProficiency>> monthProficiency(const MonthScope& scope)
{
    std::vector<MonthProficiency> all;
    for (const auto* meter : scope.shown()) {
        auto samples = eqaSamples(scope.facts(), meter->meter.act.meter);
        if (!samples)
            return samples.error();
        for (auto& sample : *samples) {
            if (sample.received.act.at > scope.stretch().by)
                continue;
            MonthProficiency told = sampleAtEnd(scope, std::move(sample));
            if (ofThisMonth(scope.stretch(), told))
                all.push_back(std::move(told));
        }
    }
    std::ranges::stable_sort(all, {}, [](const MonthProficiency& told) { return told.sample.received.act.at; });
    return all;
}

} // namespace mk::registry
