// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/month.h"

#include "registry/control/late_entry.h"
#include "registry/month/bad_vials.h"

#include "stats/basics/summary.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

namespace mk::registry {

namespace {

struct CellKey {
    Level level {};
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    base::GlucoseUnit unit {};

    friend auto operator<=>(const CellKey&, const CellKey&) = default;
};

/// The valid numbers of one cell, by meter.
using CellResults = std::map<base::MeterId, std::vector<double>>;
using GroupResults = std::map<CellKey, CellResults>;

CellKey cellOf(const RunRecord& record)
{
    return { record.run.level, record.judged.stripLot, record.judged.controlLot, record.run.unit };
}

/// What one summary says of the numbers of a cell; nothing of none, or of numbers that cannot be computed with.
std::optional<stats::Summary> summaryOf(const std::vector<double>& values)
{
    auto summary = stats::summarize(values);
    return summary ? std::optional(std::move(summary).value()) : std::nullopt;
}

bool standsOut(const std::optional<double>& sd)
{
    return sd && *sd > 0;
}

/// The month's bounds on the clock; sets are known from some days before it on.
struct MonthBounds {
    Month month;
    base::Moment known, start, end, cutOff;
};

MonthBounds boundsOf(Month month, const Zone& zone, base::Moment cutOff)
{
    const base::Date first = firstDayOf(month);
    return { month, zone.startOf(base::addDays(first, -kMonthDaysBefore)), zone.startOf(first), zone.endOf(lastDayOf(month)), cutOff };
}

/// Run because something asked for it (handbook 4.1, D2 to D11), not because a day went by.
bool isTriggered(const RunRecord& record)
{
    static constexpr std::array<std::string_view, 10> kTriggers { "D2", "D3", "D4", "D5", "D6", "D7", "D8", "D9", "D10", "D11" };
    return record.run.reason && std::ranges::find(kTriggers, *record.run.reason) != kTriggers.end();
}

/// One meter's account of the month.
class MeterAccount {
public:
    MeterAccount(const MonthMeterInput& input, const MonthBounds& bounds, const std::optional<base::WardId>& ward, const Policy& policy,
        const Zone& zone)
        : m_input(input),
          m_bounds(bounds),
          m_ward(ward),
          m_policy(policy),
          m_zone(zone)
    {
        m_result.meter = input.meter.act.meter;
    }

    MeterMonth run(const GroupResults& group, CountedBy countedBy)
    {
        countOccasions(countedBy);
        for (std::size_t i = 0; i < m_input.sets.size(); ++i)
            if (belongs(m_input.sets[i]))
                countSet(i);
        for (auto& [key, figures] : m_cells)
            m_result.levels.push_back(finished(key, figures, group));
        std::ranges::stable_sort(m_result.levels, {}, [](const LevelFigures& f) { return std::pair(f.level, f.firstAt); });
        return std::move(m_result);
    }

    /// The meter stood on the ward, not retired or merely received, at some time of the month.
    bool wasHere() const
    {
        return touches(
            m_bounds.start, m_bounds.end, [](MeterState state) { return state != MeterState::Retired && state != MeterState::Received; });
    }

private:
    base::WardId wardAt(base::Moment at) const
    {
        base::WardId ward = m_input.wards.empty() ? m_input.meter.act.ward : m_input.wards.front().ward;
        for (const auto& spell : m_input.wards)
            if (spell.since <= at)
                ward = spell.ward;
        return ward;
    }
    std::optional<MeterState> stateAt(base::Moment at) const
    {
        std::optional<MeterState> state;
        for (const auto& spell : m_input.states)
            if (spell.since <= at)
                state = spell.state;
        return state;
    }

    bool belongs(const SetRecord& set) const
    {
        const base::Moment at = set.judged.lastAt;
        return m_bounds.start <= at && at < m_bounds.end && (!m_ward || wardAt(at) == *m_ward);
    }

    /// Whether the meter was on the ward in such a state at some time in [from, to).
    template <typename F>
    bool touches(base::Moment from, base::Moment to, F&& wanted) const
    {
        std::vector<base::Moment> cuts { from };
        for (const auto& spell : m_input.states)
            if (from < spell.since && spell.since < to)
                cuts.push_back(spell.since);
        for (const auto& spell : m_input.wards)
            if (from < spell.since && spell.since < to)
                cuts.push_back(spell.since);
        return std::ranges::any_of(cuts, [&](base::Moment cut) {
            const auto state = stateAt(cut);
            return state && wanted(*state) && (!m_ward || wardAt(cut) == *m_ward);
        });
    }

    /// Days declared unused, and whether they were declared afterwards.
    std::map<base::Date, bool> unusedDays() const
    {
        std::map<base::Date, bool> days;
        for (const auto& incident : m_input.incidents) {
            if (incident.act.what != IncidentKind::NotInUse)
                continue;
            base::Moment told = incident.act.noticedAt.value_or(incident.act.at);
            if (const auto entered = m_input.toldBy.find(incident.seq); entered != m_input.toldBy.end())
                told = std::max(told, entered->second);
            const base::Date day = m_zone.dateOf(incident.act.at);
            days.try_emplace(day, told >= m_zone.endOf(day));
        }
        return days;
    }

    std::vector<TimeSpan> serviceOnWard() const
    {
        std::vector<base::Moment> cuts;
        for (const auto& spell : m_input.states)
            cuts.push_back(spell.since);
        for (const auto& spell : m_input.wards)
            cuts.push_back(spell.since);
        std::ranges::sort(cuts);
        std::vector<TimeSpan> spans;
        for (std::size_t i = 0; i < cuts.size(); ++i) {
            const base::Moment to = i + 1 < cuts.size() ? std::min(cuts[i + 1], m_bounds.cutOff) : m_bounds.cutOff;
            if (cuts[i] >= to || stateAt(cuts[i]) != MeterState::InService || (m_ward && wardAt(cuts[i]) != *m_ward))
                continue;
            if (!spans.empty() && spans.back().to == cuts[i])
                spans.back().to = to;
            else
                spans.push_back({ cuts[i], to });
        }
        return spans;
    }

    bool isUnproven(const SetRecord& set) const
    {
        return needsAcceptance(set) && std::ranges::find(m_input.acceptedLate, set.judged.set) == m_input.acceptedLate.end();
    }

    ClearingSet clearingSet(const SetRecord& set) const
    {
        ClearingSet clearing { set.judged.lastAt, clearsSince(set), set.judged.lastAt, isAccepted(set), isUnproven(set), recordedLate(set),
            std::ranges::any_of(set.runs, isTriggered), !m_ward || wardAt(set.judged.lastAt) == *m_ward };
        if (clearing.accepted)
            clearing.until = clearedUntil(set, m_policy, m_zone);
        return clearing;
    }

    OccasionInput occasionInput() const
    {
        OccasionInput input { firstDayOf(m_bounds.month), lastDayOf(m_bounds.month), m_bounds.cutOff, m_bounds.known, {}, serviceOnWard(),
            unusedDays(), {} };
        for (const auto& set : m_input.sets)
            input.sets.push_back(clearingSet(set));
        for (const auto& incident : m_input.incidents)
            if (effectOf(incident.act.what).cancelsClearance)
                input.cancelled.push_back(incident.act.at);
        return input;
    }

    void countOccasions(CountedBy countedBy)
    {
        auto counted = countedBy == CountedBy::Occasion ? occasionsOf(occasionInput(), m_policy, m_zone)
                                                        : occasionsByMinute(occasionInput(), m_zone);
        m_result.days = std::move(counted.days);
        m_result.notCleared = counted.notCleared;
        m_result.eventDriven = m_result.met = counted.eventDriven;
        for (const auto& each : m_result.days) {
            m_result.recordedLate += each.recordedLate ? 1u : 0u;
            switch (each.what) {
            case Occasion::Met: ++m_result.met; break;
            case Occasion::Late: ++m_result.late; break;
            case Occasion::Missed: ++m_result.missed; break;
            case Occasion::Excused: ++m_result.excused; break;
            case Occasion::ExcusedAfterwards: ++m_result.excused, ++m_result.excusedAfterwards; break;
            case Occasion::Unproven: ++m_result.unproven; break;
            case Occasion::Open: ++m_result.open; break;
            }
        }
    }

    void countSet(std::size_t at)
    {
        const SetRecord& set = m_input.sets[at];
        ++m_result.sets;
        m_result.acceptedSets += isAccepted(set) ? 1u : 0u;
        std::array<std::size_t, 3> perLevel {};
        bool failed = false;
        for (const auto& record : set.runs) {
            ++perLevel[static_cast<std::size_t>(record.run.level)];
            countRun(record);
            failed = failed || record.judged.verdict == Verdict::Rejected
                || (record.judged.valid && std::holds_alternative<ErrorCode>(record.run.result));
        }
        m_result.attempts += *std::ranges::max_element(perLevel);
        countDrift(set);
        if (failed)
            m_result.rejectedSets.push_back(endingOf(at));
    }

    void countRun(const RunRecord& record)
    {
        const CellKey key = cellOf(record);
        const auto [cell, isFirst] = m_cells.try_emplace(key);
        LevelFigures& figures = cell->second;
        if (isFirst)
            figures.firstAt = record.run.at;
        figures.lastAt = record.run.at;
        if (!record.judged.valid) {
            ++figures.invalid, ++m_result.invalid;
            return;
        }
        if (record.judged.mean && record.judged.sd) {
            figures.targetMean = record.judged.mean->toDouble();
            figures.targetSd = record.judged.sd->toDouble();
        }
        figures.rejected += record.judged.verdict == Verdict::Rejected ? 1u : 0u;
        figures.warned += record.judged.verdict == Verdict::Warned ? 1u : 0u;
        for (const auto& rule : record.judged.rules) {
            const auto known = std::ranges::find(m_result.rules, rule, &RuleCount::rule);
            ++(known == m_result.rules.end() ? m_result.rules.emplace_back(RuleCount { rule, 0 }) : *known).runs;
        }
        if (const auto* number = std::get_if<base::Decimal>(&record.run.result))
            m_numbers[key].push_back(number->toDouble());
        else if (std::holds_alternative<High>(record.run.result))
            ++figures.high, ++m_result.high;
        else if (std::holds_alternative<Low>(record.run.result))
            ++figures.low, ++m_result.low;
        else
            ++figures.errors, ++m_result.errors;
    }

    void countDrift(const SetRecord& set)
    {
        if (!set.judged.drift.counted)
            return;
        const bool drifts = set.judged.drift.drifts();
        if (drifts && !m_signalled)
            m_result.driftFound = set.judged.lastAt;
        if (drifts)
            m_result.driftBegan = set.judged.drift.driftsSince();
        m_result.drift = m_result.drift || drifts;
        m_signalled = drifts;
    }

    RejectedSet endingOf(std::size_t at) const
    {
        RejectedSet ending { m_input.sets[at], std::nullopt, false, {}, {} };
        for (std::size_t i = at; i < m_input.sets.size() && !ending.clearedAt; ++i)
            if (isAccepted(m_input.sets[i])) {
                ending.clearedAt = m_input.sets[i].judged.lastAt;
                ending.bySameSet = i == at;
            }
        std::vector<base::Seq> causes { ending.set.seq };
        for (const auto& record : ending.set.runs)
            causes.push_back(record.seq);
        for (const auto& stop : m_input.stops)
            if (std::ranges::find(causes, stop.stop.because) != causes.end())
                ending.stops.push_back(stop);
        for (const auto& stop : ending.stops)
            causes.push_back(stop.seq);
        for (const auto& lookback : m_input.lookbacks)
            if (std::ranges::find(causes, lookback.lookback.because) != causes.end())
                ending.lookbacks.push_back(lookback);
        return ending;
    }

    LevelFigures finished(const CellKey& key, LevelFigures figures, const GroupResults& group) const
    {
        figures.level = key.level;
        figures.stripLot = key.stripLot;
        figures.controlLot = key.controlLot;
        figures.unit = key.unit;
        const auto own = m_numbers.find(key);
        if (own == m_numbers.end())
            return figures;
        const auto summary = summaryOf(own->second);
        if (!summary)
            return figures;
        figures.n = summary->n;
        figures.mean = summary->mean;
        figures.sd = summary->sd;
        figures.cvPercent = summary->cvPercent;
        figures.min = summary->min;
        figures.max = summary->max;
        if (figures.targetMean && *figures.targetMean > 0)
            figures.biasPercent = 100.0 * (*figures.mean - *figures.targetMean) / *figures.targetMean;
        compareWithOthers(figures, group.at(key));
        return figures;
    }

    void compareWithOthers(LevelFigures& figures, const CellResults& cell) const
    {
        std::vector<double> others;
        figures.groupMeters = 1;
        for (const auto& [meter, values] : cell) {
            if (meter == m_result.meter)
                continue;
            ++figures.groupMeters;
            others.insert(others.end(), values.begin(), values.end());
        }
        figures.othersResults = others.size();
        const bool enough = figures.groupMeters >= static_cast<std::size_t>(m_policy.groupMeters)
            && others.size() >= static_cast<std::size_t>(m_policy.groupResults);
        const auto summary = summaryOf(others);
        if (!summary)
            return;
        figures.othersMean = summary->mean;
        figures.othersSd = summary->sd;
        if (!enough || !standsOut(summary->sd))
            return;
        figures.sdi = (*figures.mean - summary->mean) / *summary->sd;
        if (figures.cvPercent && summary->cvPercent && *summary->cvPercent > 0)
            figures.cvRatio = *figures.cvPercent / *summary->cvPercent;
    }

    const MonthMeterInput& m_input;
    const MonthBounds& m_bounds;
    const std::optional<base::WardId>& m_ward;
    const Policy& m_policy;
    const Zone& m_zone;
    MeterMonth m_result;
    std::map<CellKey, LevelFigures> m_cells;
    std::map<CellKey, std::vector<double>> m_numbers;
    bool m_signalled = false;
};

GroupResults groupResultsOf(std::span<const MonthMeterInput> input, const MonthBounds& bounds)
{
    GroupResults group;
    for (const auto& meter : input)
        for (const auto& set : meter.sets)
            for (const auto& record : set.runs) {
                const auto* number = std::get_if<base::Decimal>(&record.run.result);
                const bool inMonth = bounds.start <= set.judged.lastAt && set.judged.lastAt < bounds.end;
                if (inMonth && record.judged.valid && number != nullptr)
                    group[cellOf(record)][meter.meter.act.meter].push_back(number->toDouble());
            }
    return group;
}

/// Of the month, all meters.
std::vector<MeterSet> setsOf(std::span<const MonthMeterInput> input, const MonthBounds& bounds)
{
    std::vector<MeterSet> sets;
    for (const auto& meter : input)
        for (const auto& set : meter.sets)
            if (bounds.start <= set.judged.lastAt && set.judged.lastAt < bounds.end)
                sets.push_back({ meter.meter.act.meter, &set });
    return sets;
}

GroupFigures groupFiguresOf(const CellKey& key, const CellResults& cell)
{
    GroupFigures figures { key.level, key.stripLot, key.controlLot, key.unit, cell.size(), 0, {}, {}, {} };
    std::vector<double> all;
    std::vector<double> means;
    for (const auto& [meter, values] : cell) {
        all.insert(all.end(), values.begin(), values.end());
        if (const auto summary = summaryOf(values))
            means.push_back(summary->mean);
    }
    figures.results = all.size();
    if (const auto summary = summaryOf(all)) {
        figures.mean = summary->mean;
        figures.sd = summary->sd;
    }
    if (const auto summary = summaryOf(means))
        figures.sdBetweenMeters = summary->sd;
    return figures;
}

void addTo(MonthTotals& totals, const MeterMonth& meter)
{
    totals.met += meter.met;
    totals.late += meter.late;
    totals.missed += meter.missed;
    totals.excused += meter.excused;
    totals.excusedAfterwards += meter.excusedAfterwards;
    totals.rejectedSets += meter.rejectedSets.size();
    totals.sets += meter.sets;
    totals.acceptedSets += meter.acceptedSets;
    totals.attempts += meter.attempts;
    totals.invalidRuns += meter.invalid;
    totals.recordedLate += meter.recordedLate;
    totals.unproven += meter.unproven;
    totals.open += meter.open;
    totals.eventDriven += meter.eventDriven;
    totals.notCleared.ms += meter.notCleared.ms;
    totals.notCleared.serviceMs += meter.notCleared.serviceMs;
    totals.notCleared.longestMs = std::max(totals.notCleared.longestMs, meter.notCleared.longestMs);
}

std::optional<double> ratioOf(std::size_t part, std::size_t whole, double factor)
{
    return whole == 0 ? std::nullopt : std::optional(factor * static_cast<double>(part) / static_cast<double>(whole));
}

} // namespace

std::optional<double> MeterMonth::attemptsPerAcceptedSet() const
{
    return ratioOf(attempts, acceptedSets, 1.0);
}

std::optional<double> MeterMonth::largestSdi() const
{
    std::optional<double> largest;
    for (const auto& figures : levels)
        if (figures.sdi && (!largest || std::abs(*figures.sdi) > std::abs(*largest)))
            largest = figures.sdi;
    return largest;
}

std::optional<double> MonthTotals::attemptsPerAcceptedSet() const
{
    return ratioOf(attempts, acceptedSets, 1.0);
}

bool isToWatch(const MeterMonth& meter, const Policy& policy)
{
    const auto sdi = meter.largestSdi();
    const bool rejected = std::ranges::any_of(meter.rejectedSets, [](const RejectedSet& each) { return each.badVial.empty(); });
    return rejected || meter.drift || (sdi && std::abs(*sdi) >= policy.sdiCaution);
}

MonthFigures monthFigures(std::span<const MonthMeterInput> input, Month month, const std::optional<base::WardId>& ward,
    const Policy& policy, const Zone& zone, base::Moment cutOff, CountedBy countedBy)
{
    const MonthBounds bounds = boundsOf(month, zone, cutOff);
    const GroupResults group = groupResultsOf(input, bounds);
    const auto badVials = badControlVials(setsOf(input, bounds), input);
    MonthFigures figures { month, ward, cutOff, bounds.end <= cutOff, countedBy, {}, {}, {} };
    for (const auto& meter : input) {
        MeterAccount account(meter, bounds, ward, policy, zone);
        const bool wasHere = account.wasHere();
        MeterMonth one = account.run(group, countedBy);
        if (!wasHere && one.sets == 0)
            continue;
        for (auto& rejected : one.rejectedSets)
            rejected.badVial = vialBehind(rejected.set, badVials);
        addTo(figures.totals, one);
        figures.meters.push_back(std::move(one));
    }
    std::ranges::sort(figures.meters, {}, &MeterMonth::meter);
    for (const auto& [key, cell] : group)
        figures.groups.push_back(groupFiguresOf(key, cell));
    return figures;
}

} // namespace mk::registry
