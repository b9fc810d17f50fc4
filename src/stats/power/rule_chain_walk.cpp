// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_chain_walk.h"

#include "stats/basics/distributions.h"
#include "stats/power/rule_range.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <vector>

namespace mk::stats {

namespace {

/// The chances to be in each combination of level states, set after set, as long as nothing fires.
class ChainWalk {
public:
    ChainWalk(const RuleChain& chain, const MethodError& error);

    /// Takes the next set. returns the chance that it fires and no set before it did
    double take();
    /// Takes the next set where counts go on; nothing is judged.
    void pass();
    /// The chance that a rule fires on the newest of such sets.
    double fires() const;
    /// The chance that nothing has fired yet.
    double alive() const { return m_alive; }

private:
    double takeLevel(std::size_t stride);
    double takeState(std::size_t state, std::size_t from, std::size_t block, std::size_t stride);
    double judgeSet();

    const RuleChain& m_chain;
    std::vector<double> m_zones;  // chance of each zone
    std::vector<double> m_firing; // chance of each state that its next result fires within the level
    std::vector<double> m_kept;   // by verdict: share of the chance that goes on
    std::vector<double> m_lost;   // by verdict: share that fires
    std::vector<double> m_now;
    std::vector<double> m_next;
    double m_alive = 1;
};

ChainWalk::ChainWalk(const RuleChain& chain, const MethodError& error) : m_chain(chain)
{
    for (const ScoreZone& zone : chain.zones)
        m_zones.push_back(normalBetween((zone.lower - error.shift) / error.random, (zone.upper - error.shift) / error.random));
    for (const RuleChain::Step& step : chain.steps) {
        double firing = 0;
        for (const std::uint32_t zone : step.firing)
            firing += m_zones[zone];
        m_firing.push_back(firing);
    }
    std::size_t combinations = 1;
    std::size_t verdicts = 1;
    for (std::size_t level = 0; level < chain.levels; ++level) {
        combinations *= chain.steps.size();
        verdicts *= chain.zones.size();
    }
    m_now.assign(combinations, 0.0);
    m_next.assign(combinations, 0.0);
    m_now[0] = 1;
    m_kept = chain.readsDifference ? chancesWithinFour(chain.zones, chain.levels, error) : std::vector<double>(verdicts, 1.0);
    m_kept.insert(m_kept.begin(), 0.0);
    for (const double kept : m_kept)
        m_lost.push_back(1 - kept);
}

double ChainWalk::take()
{
    double fired = 0;
    for (std::size_t stride = m_now.size(); stride > 1;) {
        stride /= m_chain.steps.size();
        fired += takeLevel(stride);
    }
    return fired + judgeSet();
}

void ChainWalk::pass()
{
    for (std::size_t stride = m_now.size(); stride > 1;) {
        stride /= m_chain.steps.size();
        takeLevel(stride);
    }
}

double ChainWalk::fires() const
{
    double fired = 0;
    for (std::size_t i = 0; i < m_now.size(); ++i)
        fired += m_now[i] * m_lost[m_chain.verdicts[i]];
    return fired;
}

/// The results of one level. stride: how far apart two of its states stand in the table
double ChainWalk::takeLevel(std::size_t stride)
{
    std::ranges::fill(m_next, 0.0);
    const std::size_t states = m_chain.steps.size();
    double fired = 0;
    for (std::size_t block = 0; block < m_now.size(); block += states * stride) {
        for (std::size_t state = 0; state < states; ++state)
            fired += takeState(state, block + state * stride, block, stride);
    }
    m_now.swap(m_next);
    return fired;
}

double ChainWalk::takeState(std::size_t state, std::size_t from, std::size_t block, std::size_t stride)
{
    const RuleChain::Step& step = m_chain.steps[state];
    if (stride == 1) { // the same as below, without loops of one
        const double now = m_now[from];
        for (std::size_t i = 0; now > 0 && i < step.moves.size(); ++i)
            m_next[block + step.moves[i].to] += m_zones[step.moves[i].zone] * now;
        return now * m_firing[state];
    }
    const double all = std::reduce(&m_now[from], &m_now[from] + stride);
    for (std::size_t i = 0; all > 0 && i < step.moves.size(); ++i) {
        const double chance = m_zones[step.moves[i].zone];
        double* const to = &m_next[block + step.moves[i].to * stride];
        for (std::size_t k = 0; k < stride; ++k)
            to[k] += chance * m_now[from + k];
    }
    return all * m_firing[state];
}

double ChainWalk::judgeSet()
{
    if (m_chain.verdicts.empty()) {
        m_alive = std::reduce(m_now.begin(), m_now.end());
        return 0;
    }
    const std::size_t states = m_chain.steps.size();
    double fired = 0;
    m_alive = 0;
    for (std::size_t block = 0; block < m_now.size(); block += states) { // sums of sums: a million terms in a row would lose digits
        double alive = 0;
        double firedHere = 0;
        for (std::size_t i = block; i < block + states; ++i) {
            firedHere += m_now[i] * m_lost[m_chain.verdicts[i]];
            m_now[i] *= m_kept[m_chain.verdicts[i]];
            alive += m_now[i];
        }
        m_alive += alive;
        fired += firedHere;
    }
    return fired;
}

/// Sees when the share that fires stays the same from set to set. No rule remembers sixteen sets, so a share that is the same for
/// so long is not merely the quiet before the shortest pattern.
class SteadyShare {
public:
    bool take(double share)
    {
        m_same = std::abs(share - m_last) <= 1e-11 * share ? m_same + 1 : 0;
        m_last = share;
        return m_same >= 16;
    }

private:
    double m_last = -1;
    int m_same = 0;
};

constexpr double kNothingAlive = 1e-30;
constexpr std::size_t kFurthestBack = 12; // 12x
static_assert(std::ranges::all_of(kRules, [](const RuleRow& row) { return row.results <= static_cast<int>(kFurthestBack); }));
constexpr std::size_t kMostSetsWalked = 100'000; // never seen: the share is steady after some sixty

} // namespace

double chainRejection(const RuleChain& chain, const MethodError& error, std::size_t sets)
{
    ChainWalk walk(chain, error);
    SteadyShare steady;
    double fired = 0;
    for (std::size_t set = 1; set <= sets; ++set) {
        const double alive = walk.alive();
        const double now = walk.take();
        fired += now;
        if (walk.alive() < kNothingAlive)
            break;
        if (steady.take(now / alive))
            return fired - walk.alive() * std::expm1(static_cast<double>(sets - set) * std::log1p(-now / alive));
    }
    return std::min(fired, 1.0);
}

std::optional<double> chainRunLength(const RuleChain& chain, const MethodError& error)
{
    ChainWalk walk(chain, error);
    SteadyShare steady;
    double length = 0;
    double share = 0;
    for (std::size_t set = 1; set <= kMostSetsWalked; ++set) {
        const double alive = walk.alive();
        length += alive;
        share = walk.take() / alive;
        if (walk.alive() < kNothingAlive)
            return length;
        if (steady.take(share))
            break;
    }
    if (share == 0)
        return std::nullopt;
    return length + walk.alive() / share;
}

double chainFiringShare(const RuleChain& chain, const MethodError& error)
{
    ChainWalk walk(chain, error);
    for (std::size_t set = 0; set < kFurthestBack; ++set)
        walk.pass();
    return walk.fires();
}

} // namespace mk::stats
