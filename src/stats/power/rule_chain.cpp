// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_chain.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdlib>
#include <limits>
#include <span>
#include <unordered_map>
#include <utility>

namespace mk::stats {

namespace {

/// What the rules in use ask for: where they cut scores, and which counts of a level must be kept from set to set.
/// twoSd    the side beyond 2 SD of the newest result; before   that of the one before it
/// longestMean, longestOneSd   the longest runs that rules ask for: longer ones are the same to them
struct ChainMemory {
    bool twoSd = false, before = false;
    int longestMean = 0, longestOneSd = 0;
    std::array<bool, 4> cuts = { false, false, false, false }; // by whole SD
};

void addToMemory(ChainMemory& memory, Rule rule, const RuleSettings& settings)
{
    const RuleRow& row = rowOf(rule);
    bool& cut = memory.cuts.at(static_cast<std::size_t>(row.limitSd));
    switch (row.count) {
    case RuleCount::One: cut = true; break;
    case RuleCount::Run:
        cut = true;
        if (row.limitSd == 0)
            memory.longestMean = std::max(memory.longestMean, row.results);
        else if (row.limitSd == 1)
            memory.longestOneSd = std::max(memory.longestOneSd, row.results);
        else
            memory.twoSd = true;
        break;
    case RuleCount::OfThree: cut = memory.twoSd = memory.before = true; break;
    case RuleCount::Spread:
        if (settings.levels > 1 && settings.rangeReading == RangeReading::Opposite)
            cut = memory.twoSd = true;
        break;
    case RuleCount::Steps: assert(false); break;
    }
}

ChainMemory chainMemory(const RuleSettings& settings)
{
    ChainMemory memory;
    for (const Rule rule : settings.rules)
        addToMemory(memory, rule, settings);
    return memory;
}

std::vector<ScoreZone> chainZones(const ChainMemory& memory)
{
    std::vector<double> bounds = { -std::numeric_limits<double>::infinity() };
    for (int limit = -3; limit <= 3; ++limit) {
        if (memory.cuts.at(static_cast<std::size_t>(std::abs(limit))))
            bounds.push_back(limit);
    }
    bounds.push_back(std::numeric_limits<double>::infinity());

    std::vector<ScoreZone> zones;
    for (std::size_t i = 0; i + 1 < bounds.size(); ++i) {
        ScoreZone zone { bounds[i], bounds[i + 1], 0, 0 };
        zone.side = zone.lower >= 0 ? 1 : (zone.upper <= 0 ? -1 : 0);
        if (zone.side != 0)
            zone.beyond = static_cast<int>(zone.side > 0 ? zone.lower : -zone.upper);
        zones.push_back(zone);
    }
    return zones;
}

/// A level's counts and the zone of its newest result.
/// fires   a rule fired within the level on that result, and the counts went on
struct ChainState {
    LevelCounts counts;
    std::uint32_t zone = 0;
    bool fires = false;
};

/// Forgets what no rule in use asks for, so that histories which differ only in that are one state.
LevelCounts chainCounts(const LevelCounts& counts, const ChainMemory& memory)
{
    LevelCounts kept;
    kept.mean = std::clamp(counts.mean, -memory.longestMean, memory.longestMean);
    kept.oneSd = std::clamp(counts.oneSd, -memory.longestOneSd, memory.longestOneSd);
    kept.newest = memory.twoSd ? counts.newest : 0;
    kept.twoSd = kept.newest; // longer runs beyond 2 SD have fired, or no rule asks how long they are: the next one makes two of it
    kept.before = memory.before ? counts.before : 0;
    return kept;
}

ScoreSides chainSides(const ScoreZone& zone)
{
    const auto beyond = [&](int limit) { return zone.beyond >= limit ? zone.side : 0; };
    return { zone.side, beyond(1), beyond(2), beyond(3) };
}

RuleMask chainMask(const std::vector<Rule>& rules)
{
    RuleMask mask = 0;
    for (const Rule rule : rules)
        mask = static_cast<RuleMask>(mask | maskOf(rule));
    return mask;
}

/// The states of one level in the order in which they can first be reached.
class ChainStates {
public:
    ChainStates(const RuleSettings& settings, const std::vector<ScoreZone>& zones, std::size_t sets, AfterAlarm after);

    std::vector<ChainState> states = { ChainState() };
    std::vector<RuleChain::Step> steps; // of each state

private:
    RuleChain::Step stepFrom(const ChainState& from, RuleMask rules, const ChainMemory& memory, const std::vector<ScoreZone>& zones);
    std::uint32_t indexOf(const ChainState& state);

    bool m_goOn = false;
    std::unordered_map<std::uint32_t, std::uint32_t> m_known;
};

/// Different for different states: counts stay below 16, sides are -1, 0 and 1, there are at most 8 zones.
std::uint32_t chainStateKey(const ChainState& state)
{
    const LevelCounts& counts = state.counts;
    const int key = (((counts.mean + 16) * 32 + counts.oneSd + 16) * 4 + counts.newest + 1) * 4 + counts.before + 1;
    return (static_cast<std::uint32_t>(key) * 8 + state.zone) * 2 + (state.fires ? 1 : 0);
}

ChainStates::ChainStates(const RuleSettings& settings, const std::vector<ScoreZone>& zones, std::size_t sets, AfterAlarm after)
    : m_goOn(after == AfterAlarm::GoOn)
{
    const ChainMemory memory = chainMemory(settings);
    const RuleMask rules = chainMask(settings.rules);
    m_known.emplace(chainStateKey(ChainState()), 0);
    for (std::size_t set = 0; set < sets && steps.size() < states.size(); ++set) {
        for (const std::size_t end = states.size(); steps.size() < end;)
            steps.push_back(stepFrom(ChainState(states[steps.size()]), rules, memory, zones));
    }
    steps.resize(states.size());
}

RuleChain::Step ChainStates::stepFrom(
    const ChainState& from, RuleMask rules, const ChainMemory& memory, const std::vector<ScoreZone>& zones)
{
    RuleChain::Step step;
    for (std::uint32_t zone = 0; zone < zones.size(); ++zone) {
        LevelCounts counts = from.counts;
        counts.take(chainSides(zones[zone]), 0);
        const bool fires = (counts.mask() & rules) != 0;
        if (fires && !m_goOn)
            step.firing.push_back(zone);
        else
            step.moves.push_back({ zone, indexOf({ chainCounts(counts, memory), zone, fires }) });
    }
    return step;
}

std::uint32_t ChainStates::indexOf(const ChainState& state)
{
    const auto [place, isNew] = m_known.try_emplace(chainStateKey(state), static_cast<std::uint32_t>(states.size()));
    if (isNew)
        states.push_back(state);
    return place->second;
}

/// The levels of one complete set after it.
using ChainSet = std::span<const LevelCounts* const>;

/// The results in the newest whole sets that lie on one side with every level. run: the level's own count of that kind
int chainAcrossRun(ChainSet set, int LevelCounts::*run)
{
    const int side = set.back()->*run > 0 ? 1 : -1;
    int sets = side * (set.back()->*run);
    for (const LevelCounts* level : set)
        sets = std::min(sets, std::max(side * (level->*run), 0));
    return sets * static_cast<int>(set.size());
}

std::size_t countInChainSet(ChainSet set, int LevelCounts::*count, int side)
{
    return static_cast<std::size_t>(std::ranges::count_if(set, [&](const LevelCounts* level) { return level->*count * side > 0; }));
}

/// The same as ControlSeries::add finds across the levels of a complete set, from the counts within them.
bool firesAcrossChain(ChainSet set, Rule rule, RangeReading reading)
{
    const auto most = [&](int LevelCounts::*count) { return std::max(countInChainSet(set, count, 1), countInChainSet(set, count, -1)); };
    const RuleRow& row = rowOf(rule);
    if (row.count == RuleCount::Spread) // as a difference it needs the values, not the zones
        return reading == RangeReading::Opposite && countInChainSet(set, &LevelCounts::newest, 1) > 0
            && countInChainSet(set, &LevelCounts::newest, -1) > 0;
    const auto run = LevelCounts::runBeyond(row.limitSd);
    const auto needed = static_cast<std::size_t>(row.results);
    switch (row.across) {
    case RuleAcross::Never: return false;
    case RuleAcross::InSet: return most(run) >= needed;
    case RuleAcross::InSetOfThree: return set.size() == 3 && most(run) >= needed;
    case RuleAcross::WholeSets: return LevelCounts::patternOf(chainAcrossRun(set, run), row.results) > 0;
    }
    return false;
}

std::uint16_t chainVerdict(const ChainStates& states, const RuleSettings& settings, std::size_t zones, std::size_t combination)
{
    std::array<const LevelCounts*, 4> counts {};
    std::size_t zone = 0;
    std::size_t place = 1;
    bool fires = false;
    for (std::size_t level = settings.levels; level-- > 0; combination /= states.states.size()) {
        const ChainState& state = states.states[combination % states.states.size()];
        fires = fires || state.fires;
        counts.at(level) = &state.counts;
        zone += place * state.zone;
        place *= zones;
    }
    const ChainSet set(counts.data(), settings.levels);
    const auto across = [&](Rule rule) { return firesAcrossChain(set, rule, settings.rangeReading); };
    fires = fires || (settings.levels > 1 && std::ranges::any_of(settings.rules, across));
    return fires ? std::uint16_t { 0 } : static_cast<std::uint16_t>(1 + zone);
}

} // namespace

std::optional<RuleChain> ruleChain(const RuleSettings& settings, std::size_t sets, AfterAlarm after)
{
    assert(settings.levels >= 1 && settings.levels <= 4 && sets >= 1);
    RuleChain chain;
    chain.levels = settings.levels;
    chain.readsDifference = settings.levels > 1 && settings.rangeReading == RangeReading::Difference
        && std::ranges::find(settings.rules, Rule::RFourS) != settings.rules.end();
    chain.zones = chainZones(chainMemory(settings));
    ChainStates states(settings, chain.zones, sets, after);
    std::size_t combinations = 1;
    for (std::size_t level = 0; level < settings.levels; ++level) {
        combinations *= states.states.size();
        if (combinations > kMostChainStates)
            return std::nullopt;
    }
    const bool judged = settings.levels > 1 || after == AfterAlarm::GoOn;
    for (std::size_t i = 0; judged && i < combinations; ++i)
        chain.verdicts.push_back(chainVerdict(states, settings, chain.zones.size(), i));
    chain.steps = std::move(states.steps);
    return chain;
}

} // namespace mk::stats
