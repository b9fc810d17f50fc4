// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/candidate_reader.h"

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

Result<const CandidateLine*> CandidateReader::replay(const base::MeterId& meter)
{
    m_line.reset(); // what is on record is read from the index
    auto sets = Reader::sets(meter, base::kBeginningOfTime, base::kEndOfTime);
    auto pairs = Reader::pairs(meter);
    auto stops = Reader::stops(meter);
    auto states = Reader::states(meter);
    if (!sets || !pairs || !stops || !states)
        return base::unread("the file of '%1' cannot be read; run verify", meter.value, sets, pairs, stops, states);
    m_line.emplace(
        RecordedMeter { meter, std::move(sets).value(), std::move(pairs).value(), std::move(stops).value(), std::move(states).value() },
        m_candidate);
    if (const Done done = m_line->replay(*this); !done)
        return done.error();
    return &*m_line;
}

Result<std::optional<StateSpell>> CandidateReader::stateAt(const base::MeterId& meter, Moment at)
{
    if (!isReplayed(meter))
        return Reader::stateAt(meter, at);
    const auto spells = m_line->states();
    const auto found = std::find_if(spells.rbegin(), spells.rend(), [&](const StateSpell& spell) { return spell.since <= at; });
    return found == spells.rend() ? std::nullopt : std::optional(*found);
}

Result<std::vector<StateSpell>> CandidateReader::states(const base::MeterId& meter)
{
    return isReplayed(meter) ? m_line->states() : Reader::states(meter);
}

Result<std::vector<StopRecord>> CandidateReader::stops(const base::MeterId& meter)
{
    return isReplayed(meter) ? m_line->stops() : Reader::stops(meter);
}

Result<std::vector<PairRecord>> CandidateReader::pairs(const base::MeterId& meter)
{
    return isReplayed(meter) ? m_line->pairs() : Reader::pairs(meter);
}

Result<std::vector<PairRecord>> CandidateReader::pairsThatCount(const base::MeterId& meter, Moment)
{
    return pairs(meter);
}

Result<std::vector<SetRecord>> CandidateReader::sets(const base::MeterId& meter, Moment from, Moment to)
{
    if (!isReplayed(meter))
        return Reader::sets(meter, from, to);
    std::vector<SetRecord> found;
    std::ranges::copy_if(m_line->sets(), std::back_inserter(found),
        [&](const SetRecord& set) { return set.judged.lastAt >= from && set.judged.lastAt <= to; });
    return found;
}

Result<std::vector<SetRecord>> CandidateReader::newestSets(const base::MeterId& meter, Moment by, int most)
{
    if (!isReplayed(meter))
        return Reader::newestSets(meter, by, most);
    std::vector<SetRecord> found;
    const auto& all = m_line->sets();
    for (auto set = all.rbegin(); set != all.rend() && static_cast<int>(found.size()) < most; ++set)
        if (set->judged.firstAt <= by)
            found.push_back(*set);
    return found;
}

Result<std::optional<SetRecord>> CandidateReader::newestAcceptedSet(const base::MeterId& meter, Moment by)
{
    if (!isReplayed(meter))
        return Reader::newestAcceptedSet(meter, by);
    return newestWhere(m_line->sets(), [&](const SetRecord& set) { return isAccepted(set) && set.judged.lastAt <= by; });
}

Result<std::optional<SetRecord>> CandidateReader::newestCountedSet(const base::MeterId& meter, Moment by)
{
    if (!isReplayed(meter))
        return Reader::newestCountedSet(meter, by);
    return newestWhere(m_line->sets(), [&](const SetRecord& set) { return set.judged.drift.counted && set.judged.lastAt <= by; });
}

Result<std::vector<base::SetId>> CandidateReader::setsWithRuns(const base::MeterId& meter)
{
    if (!isReplayed(meter))
        return Reader::setsWithRuns(meter);
    return m_line->setsRun();
}

} // namespace mk::store
