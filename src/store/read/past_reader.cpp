// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/past_reader.h"

#include "base/unread.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;

namespace {

/// The newest by its last run that a condition holds for.
template <typename F>
std::optional<SetRecord> newestWhere(const std::vector<SetRecord>& sets, F&& holds)
{
    const auto found = std::find_if(sets.rbegin(), sets.rend(), holds);
    return found == sets.rend() ? std::nullopt : std::optional(*found);
}

} // namespace

Result<MeterPast> PastReader::recorded(const base::MeterId& meter)
{
    auto sets = Reader::sets(meter, base::kBeginningOfTime, base::kEndOfTime);
    auto pairs = Reader::pairs(meter);
    auto stops = Reader::stops(meter);
    auto states = Reader::states(meter);
    if (!sets || !pairs || !stops || !states)
        return base::unread("the file of '%1' cannot be read; run verify", meter.value, sets, pairs, stops, states);
    return MeterPast { meter, std::move(sets).value(), std::move(pairs).value(), std::move(stops).value(), std::move(states).value() };
}

Done PastReader::hold(const base::MeterId& meter)
{
    m_past = {};
    m_line.reset();
    auto past = recorded(meter);
    if (!past)
        return past.error();
    m_past = std::move(past).value();
    if (m_candidate == nullptr)
        return {};
    m_line.emplace(m_past, *m_candidate);
    m_replaying = true;
    const Done replayed = m_line->replay(*this);
    m_replaying = false;
    m_past = { meter, m_line->sets(), m_line->pairs(), m_line->stops(), m_line->states() };
    return replayed;
}

Result<std::optional<StateSpell>> PastReader::stateAt(const base::MeterId& meter, Moment at)
{
    if (!holds(meter))
        return Reader::stateAt(meter, at);
    const auto spells = states(meter);
    const auto found = std::find_if(spells->rbegin(), spells->rend(), [&](const StateSpell& spell) { return spell.since <= at; });
    return found == spells->rend() ? std::nullopt : std::optional(*found);
}

Result<std::vector<StateSpell>> PastReader::states(const base::MeterId& meter)
{
    if (!holds(meter))
        return Reader::states(meter);
    return m_replaying ? m_line->states() : m_past.states;
}

Result<std::vector<StopRecord>> PastReader::stops(const base::MeterId& meter)
{
    if (!holds(meter))
        return Reader::stops(meter);
    return m_replaying ? m_line->stops() : m_past.stops;
}

Result<std::vector<PairRecord>> PastReader::pairs(const base::MeterId& meter)
{
    if (!holds(meter))
        return Reader::pairs(meter);
    return m_replaying ? m_line->pairs() : m_past.pairs;
}

Result<std::vector<PairRecord>> PastReader::pairsThatCount(const base::MeterId& meter, Moment at)
{
    return holds(meter) ? pairs(meter) : Reader::pairsThatCount(meter, at);
}

Result<std::vector<SetRecord>> PastReader::sets(const base::MeterId& meter, Moment from, Moment to)
{
    if (!holds(meter))
        return Reader::sets(meter, from, to);
    std::vector<SetRecord> found;
    std::ranges::copy_if(
        heldSets(), std::back_inserter(found), [&](const SetRecord& set) { return set.judged.lastAt >= from && set.judged.lastAt <= to; });
    return found;
}

Result<std::vector<SetRecord>> PastReader::newestSets(const base::MeterId& meter, Moment by, int most)
{
    if (!holds(meter))
        return Reader::newestSets(meter, by, most);
    std::vector<SetRecord> found;
    const auto& all = heldSets();
    for (auto set = all.rbegin(); set != all.rend() && static_cast<int>(found.size()) < most; ++set)
        if (set->judged.firstAt <= by)
            found.push_back(*set);
    return found;
}

Result<std::optional<SetRecord>> PastReader::newestAcceptedSet(const base::MeterId& meter, Moment by)
{
    if (!holds(meter))
        return Reader::newestAcceptedSet(meter, by);
    return newestWhere(heldSets(), [&](const SetRecord& set) { return isAccepted(set) && set.judged.lastAt <= by; });
}

Result<std::optional<SetRecord>> PastReader::newestCountedSet(const base::MeterId& meter, Moment by)
{
    if (!holds(meter))
        return Reader::newestCountedSet(meter, by);
    return newestWhere(heldSets(), [&](const SetRecord& set) { return set.judged.drift.counted && set.judged.lastAt <= by; });
}

Result<std::vector<base::SetId>> PastReader::setsWithRuns(const base::MeterId& meter)
{
    return m_replaying && holds(meter) ? Result<std::vector<base::SetId>>(m_line->setsRun()) : Reader::setsWithRuns(meter);
}

} // namespace mk::store
