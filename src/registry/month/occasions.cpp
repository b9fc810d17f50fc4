// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/occasions.h"

#include <algorithm>

namespace mk::registry {

namespace {

constexpr std::int64_t kOccasionHourMs = 3'600'000;

std::int64_t lateBy(std::int64_t ms)
{
    return (ms + 59'999) / 60'000;
}

/// What every way of counting asks of the input.
class OccasionFacts {
public:
    OccasionFacts(const OccasionInput& input, const Policy& policy, const Zone& zone) : m_input(input), m_policy(policy), m_zone(zone)
    {
        for (std::size_t i = 0; i < input.sets.size(); ++i)
            if (input.sets[i].accepted && !input.sets[i].unproven)
                m_clearing.push_back(i);
    }

    const OccasionInput& input() const { return m_input; }
    const Policy& policy() const { return m_policy; }
    const Zone& zone() const { return m_zone; }

    /// Sets that clear the meter, oldest first.
    std::size_t count() const { return m_clearing.size(); }
    const ClearingSet& set(std::size_t i) const { return m_input.sets[m_clearing[i]]; }

    /// Where its clearance ended: by itself, or with a set that failed before the next one cleared the meter again.
    base::Moment endOf(std::size_t i) const
    {
        base::Moment end = set(i).until;
        for (std::size_t at = m_clearing[i] + 1; at < m_input.sets.size(); ++at) {
            if (i + 1 < count() && at >= m_clearing[i + 1])
                break;
            if (!m_input.sets[at].accepted)
                return std::min(end, m_input.sets[at].at);
        }
        return end;
    }
    /// The ward's clearance, or a shorter one where a drift was told.
    std::int64_t clearanceMs(std::size_t i) const
    {
        return std::min(clearanceMs(), std::max(set(i).until.utcMs - set(i).at.utcMs, kOccasionHourMs));
    }
    std::int64_t clearanceMs() const { return m_policy.clearanceHours * kOccasionHourMs; }
    std::int64_t tolerance(std::int64_t clearance) const
    {
        return m_policy.occasionTolerance.minutes ? *m_policy.occasionTolerance.minutes * std::int64_t { 60'000 }
                                                  : clearance / m_policy.occasionTolerance.part;
    }

    /// In service on the ward right up to that moment.
    bool servedUpTo(base::Moment at) const
    {
        return std::ranges::any_of(m_input.service, [&](const TimeSpan& s) { return s.from < at && at <= s.to; });
    }
    bool servedIn(base::Moment from, base::Moment to) const
    {
        return std::ranges::any_of(m_input.service, [&](const TimeSpan& s) { return s.from < to && s.to > from; });
    }
    std::optional<Occasion> excused(base::Date day) const
    {
        const auto found = m_input.unused.find(day);
        if (found == m_input.unused.end())
            return std::nullopt;
        return found->second ? Occasion::ExcusedAfterwards : Occasion::Excused;
    }
    /// The first set in [from, to) that clears the meter.
    std::optional<std::size_t> clearingIn(base::Moment from, base::Moment to) const
    {
        for (std::size_t i = 0; i < count(); ++i)
            if (from <= set(i).at)
                return set(i).at < to ? std::optional(i) : std::nullopt;
        return std::nullopt;
    }
    bool claimedIn(base::Moment from, base::Moment to) const
    {
        return std::ranges::any_of(
            m_input.sets, [&](const ClearingSet& s) { return s.accepted && s.unproven && from <= s.at && s.at < to; });
    }

private:
    const OccasionInput& m_input;
    const Policy& m_policy;
    const Zone& m_zone;
    std::vector<std::size_t> m_clearing;
};

/// The occasions of a month as they are found, and which sets answered one of them.
struct Found {
    MonthOccasions result;
    std::vector<bool> routine; ///< by the place among the sets that clear the meter

    void met(base::Date day, const OccasionFacts& facts, std::size_t by)
    {
        routine[by] = true;
        result.days.push_back({ day, Occasion::Met, 0, facts.set(by).recordedLate });
    }
};

/// A clearance of 24 h: each day in service owes a control.
class DailyOccasions {
public:
    DailyOccasions(const OccasionFacts& facts, Found& found) : m_facts(facts), m_found(found) { }

    void count(base::Date day)
    {
        const base::Moment from = m_facts.zone().startOf(day), to = m_facts.zone().endOf(day);
        if (from >= m_facts.input().cutOff || !m_facts.servedIn(from, to))
            return;
        if (const auto excused = m_facts.excused(day))
            return m_found.result.days.push_back({ day, *excused });
        const auto first = m_facts.clearingIn(from, to);
        const auto before = newestBefore(from);
        if (first)
            return done(day, from, *first, before);
        m_found.result.days.push_back({ day, notDone(from, to, before) });
    }

private:
    std::optional<std::size_t> newestBefore(base::Moment at) const
    {
        std::optional<std::size_t> newest;
        for (std::size_t i = 0; i < m_facts.count() && m_facts.set(i).at < at; ++i)
            newest = i;
        return newest;
    }
    std::int64_t toleranceOf(std::size_t set) const { return m_facts.tolerance(m_facts.clearanceMs(set)); }

    void done(base::Date day, base::Moment from, std::size_t first, std::optional<std::size_t> before)
    {
        m_found.met(day, m_facts, first);
        if (!before)
            return;
        const base::Moment end = m_facts.endOf(*before), at = m_facts.set(first).at;
        const bool late = end >= from && m_facts.servedUpTo(end) && at.utcMs - end.utcMs > toleranceOf(*before);
        if (late)
            m_found.result.days.back() = { day, Occasion::Late, lateBy(at.utcMs - end.utcMs) };
    }

    /// No set on that day: the clearance before may have reached to the set after, around midnight.
    Occasion notDone(base::Moment from, base::Moment to, std::optional<std::size_t> before) const
    {
        base::Moment canBeMetUntil = to;
        if (before) {
            const base::Moment end = m_facts.endOf(*before);
            const base::Moment reach = base::plusMs(end, toleranceOf(*before));
            const auto after = m_facts.clearingIn(to, base::kEndOfTime);
            if (after && m_facts.set(*after).at <= reach)
                return Occasion::Met;
            if (end >= to || (end >= from && m_facts.servedUpTo(end)))
                canBeMetUntil = reach;
        }
        if (m_facts.claimedIn(from, to))
            return Occasion::Unproven;
        return canBeMetUntil > m_facts.input().cutOff ? Occasion::Open : Occasion::Missed;
    }

    const OccasionFacts& m_facts;
    Found& m_found;
};

/// Any other clearance: each end of it in service is an occasion, and while nothing clears the meter each further length of it after that.
class EndOccasions {
public:
    EndOccasions(const OccasionFacts& facts, Found& found)
        : m_facts(facts),
          m_found(found),
          m_from(facts.zone().startOf(facts.input().first)),
          m_to(facts.zone().endOf(facts.input().last))
    {
    }

    void count()
    {
        begin();
        for (std::size_t at = 0; at < m_facts.count();)
            at = countFrom(at);
    }

private:
    void add(base::Moment end, OccasionDay occasion)
    {
        if (end < m_from || end >= m_to || end >= m_facts.input().cutOff)
            return;
        occasion.day = m_facts.zone().dateOf(end);
        if (const auto excused = m_facts.excused(occasion.day))
            occasion = { occasion.day, *excused };
        m_found.result.days.push_back(occasion);
    }
    void addServed(base::Moment end, OccasionDay occasion)
    {
        if (m_facts.servedUpTo(end))
            add(end, occasion);
    }
    void addMissed(base::Moment end, std::int64_t clearance)
    {
        const std::int64_t tolerance = m_facts.tolerance(clearance);
        const bool open = end.utcMs + tolerance > m_facts.input().cutOff.utcMs;
        const bool claimed = m_facts.claimedIn(base::plusMs(end, tolerance - clearance + 1), base::plusMs(end, tolerance + 1));
        addServed(end, { {}, claimed ? Occasion::Unproven : open ? Occasion::Open : Occasion::Missed });
    }
    void addAnswered(base::Moment end, std::size_t by, std::int64_t clearance)
    {
        const std::int64_t late = m_facts.set(by).at.utcMs - end.utcMs;
        m_found.routine[by] = true;
        if (late > m_facts.tolerance(clearance))
            addServed(end, { {}, Occasion::Late, lateBy(late) });
        else
            addServed(end, { {}, Occasion::Met, 0, m_facts.set(by).recordedLate });
    }

    /// From an end on that no set met: occasions that were missed, then the one that the next set answered.
    void countUncleared(base::Moment end, std::optional<std::size_t> next, std::int64_t clearance)
    {
        const std::int64_t tolerance = m_facts.tolerance(clearance);
        const base::Moment stop = next ? m_facts.set(*next).at : m_facts.input().cutOff;
        for (; next ? end.utcMs + clearance <= stop.utcMs + tolerance : end < stop; end = base::plusMs(end, clearance))
            addMissed(end, clearance);
        if (next)
            addAnswered(end, *next, clearance);
    }

    /// What was owed before the first set that is known.
    void begin()
    {
        const auto& service = m_facts.input().service;
        if (service.empty())
            return;
        const base::Moment begun = service.front().from;
        const std::int64_t clearance = m_facts.clearanceMs();
        const auto first = m_facts.count() == 0 ? std::nullopt : std::optional<std::size_t>(0);
        if (begun < m_facts.input().known) // it had served before, and what cleared it last lies too far back
            return countUncleared(m_facts.input().known, first, clearance);
        const base::Moment stop = first ? m_facts.set(*first).at : m_facts.input().cutOff;
        if (first && stop <= begun)
            return;
        for (base::Moment end = base::plusMs(begun, clearance); end.utcMs + m_facts.tolerance(clearance) < stop.utcMs;
             end = base::plusMs(end, clearance))
            addMissed(end, clearance);
        if (!first)
            return;
        m_found.routine[*first] = true;
        add(stop, { {}, Occasion::Met, 0, m_facts.set(*first).recordedLate }); // the first one of a meter new in service
    }

    /// Returns the set from which the next clearance runs.
    std::size_t countFrom(std::size_t at)
    {
        const std::int64_t clearance = m_facts.clearanceMs(at);
        const base::Moment end = m_facts.endOf(at);
        std::size_t newest = at;
        while (newest + 1 < m_facts.count() && m_facts.set(newest + 1).at.utcMs <= end.utcMs + m_facts.tolerance(clearance))
            ++newest;
        if (newest > at) {
            addAnswered(end, newest, clearance);
            return newest;
        }
        const auto next = at + 1 < m_facts.count() ? std::optional(at + 1) : std::nullopt;
        countUncleared(end, next, clearance);
        return at + 1;
    }

    const OccasionFacts& m_facts;
    Found& m_found;
    base::Moment m_from, m_to;
};

/// The calendar and the shift rule: a control in each laboratory day or shift, which belongs to the day on which it begins.
void countBoxes(const OccasionFacts& facts, Found& found)
{
    const Policy& policy = facts.policy();
    const auto boundaries = policy.shiftBoundaryMinutes.empty() ? std::vector { policy.dayBoundaryMinutes } : policy.shiftBoundaryMinutes;
    const auto startOf = [&](base::Date day, std::size_t i) {
        const base::Date on = i < boundaries.size() ? day : base::addDays(day, 1);
        return facts.zone().resolve({ on, boundaries[i % boundaries.size()] * 60'000 }).first;
    };
    for (base::Date day = facts.input().first; day <= facts.input().last; day = base::addDays(day, 1))
        for (std::size_t i = 0; i < boundaries.size(); ++i) {
            const base::Moment from = startOf(day, i), to = startOf(day, i + 1);
            if (from >= facts.input().cutOff || !facts.servedIn(from, to))
                continue;
            const auto excused = facts.excused(day);
            const auto first = facts.clearingIn(from, to);
            if (excused)
                found.result.days.push_back({ day, *excused });
            else if (first)
                found.met(day, facts, *first);
            else
                found.result.days.push_back({ day,
                    facts.claimedIn(from, to)       ? Occasion::Unproven
                        : to > facts.input().cutOff ? Occasion::Open
                                                    : Occasion::Missed });
        }
}

/// Sets of the month beyond the routine that something asked for.
void countTriggered(const OccasionFacts& facts, Found& found)
{
    const base::Moment from = facts.zone().startOf(facts.input().first), to = facts.zone().endOf(facts.input().last);
    for (std::size_t i = 0; i < facts.count(); ++i) {
        const ClearingSet& set = facts.set(i);
        if (set.at < from || set.at >= to || found.routine[i] || !set.onWard)
            continue;
        const base::Moment before = i == 0 ? base::kBeginningOfTime : facts.set(i - 1).since;
        const bool answers = std::ranges::any_of(facts.input().cancelled, [&](base::Moment at) { return before <= at && at <= set.since; });
        found.result.eventDriven += set.triggered || answers ? 1u : 0u;
    }
}

/// The clearance that stood at each time: of the newest set that gives one, until it ends or something takes it away.
std::vector<TimeSpan> clearedSpans(const OccasionFacts& facts)
{
    std::vector<TimeSpan> spans;
    for (std::size_t i = 0; i < facts.count(); ++i) {
        base::Moment end = facts.endOf(i);
        if (i + 1 < facts.count())
            end = std::min(end, facts.set(i + 1).at);
        for (const base::Moment at : facts.input().cancelled)
            if (at >= facts.set(i).since)
                end = std::min(end, at);
        if (facts.set(i).at < end)
            spans.push_back({ facts.set(i).at, end });
    }
    return spans;
}

/// Adds what of [from, to) no clearance covers; a stretch that goes on where the last one ended is one stretch.
class UnclearedTime {
public:
    UnclearedTime(const std::vector<TimeSpan>& cleared, NotCleared& sums) : m_cleared(cleared), m_sums(sums) { }

    void look(base::Moment from, base::Moment to)
    {
        for (const auto& span : m_cleared) {
            if (span.to <= from || span.from >= to)
                continue;
            add(from, std::min(span.from, to));
            from = std::max(from, span.to);
        }
        add(from, to);
    }

private:
    void add(base::Moment from, base::Moment to)
    {
        if (from >= to)
            return;
        m_running = m_end == from ? m_running + to.utcMs - from.utcMs : to.utcMs - from.utcMs;
        m_end = to;
        m_sums.ms += to.utcMs - from.utcMs;
        m_sums.longestMs = std::max(m_sums.longestMs, m_running);
    }

    const std::vector<TimeSpan>& m_cleared;
    NotCleared& m_sums;
    base::Moment m_end = base::kBeginningOfTime;
    std::int64_t m_running = 0;
};

NotCleared notClearedOf(const OccasionFacts& facts)
{
    NotCleared sums;
    const auto cleared = clearedSpans(facts);
    UnclearedTime uncleared(cleared, sums);
    for (base::Date day = facts.input().first; day <= facts.input().last; day = base::addDays(day, 1)) {
        const base::Moment from = facts.zone().startOf(day), to = facts.zone().endOf(day);
        for (const auto& span : facts.input().service) {
            const base::Moment begins = std::max(from, span.from), ends = std::min(to, span.to);
            if (begins >= ends)
                continue;
            sums.serviceMs += ends.utcMs - begins.utcMs;
            if (!facts.excused(day))
                uncleared.look(begins, ends);
        }
    }
    return sums;
}

} // namespace

double NotCleared::hours() const
{
    return static_cast<double>(ms) / static_cast<double>(kOccasionHourMs);
}
double NotCleared::longestHours() const
{
    return static_cast<double>(longestMs) / static_cast<double>(kOccasionHourMs);
}
std::optional<double> NotCleared::percent() const
{
    return percentOf(static_cast<std::size_t>(ms), static_cast<std::size_t>(serviceMs));
}

std::optional<double> percentOf(std::size_t part, std::size_t whole)
{
    if (whole == 0)
        return std::nullopt;
    const std::size_t tenths = (2000 * part + whole) / (2 * whole);
    return static_cast<double>(part < whole ? std::min<std::size_t>(tenths, 999) : tenths) / 10;
}

MonthOccasions occasionsOf(const OccasionInput& input, const Policy& policy, const Zone& zone)
{
    const OccasionFacts facts(input, policy, zone);
    Found found { {}, std::vector<bool>(facts.count()) };
    const bool elapsed = policy.shiftBoundaryMinutes.empty() && policy.clearance == Policy::Clearance::Elapsed;
    if (!elapsed)
        countBoxes(facts, found);
    else if (policy.clearanceHours == 24)
        for (base::Date day = input.first; day <= input.last; day = base::addDays(day, 1))
            DailyOccasions(facts, found).count(day);
    else
        EndOccasions(facts, found).count();
    std::ranges::stable_sort(found.result.days, {}, &OccasionDay::day);
    countTriggered(facts, found);
    found.result.notCleared = notClearedOf(facts);
    return std::move(found.result);
}

} // namespace mk::registry
