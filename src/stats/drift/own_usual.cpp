// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/own_usual.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numeric>

namespace mk::stats {

namespace {

constexpr double kOnLimit = 1e-9;
constexpr double kHeld = 4; ///< SD; one wild result is no drift
constexpr std::size_t kFewestNewest = 3;
constexpr std::int64_t kFewestSlow = 5;
constexpr double kSlowest = 0.05; ///< weight of the newest control in the slow mean
constexpr double kSurely = 1.645; ///< one-sided 95 %

bool above(double value, double limit)
{
    return value > limit + kOnLimit;
}

double signOf(Way way)
{
    return way == Way::High ? 1 : way == Way::Low ? -1 : 0;
}

/// What stands in the usual value, the newest and the slow mean: a wild result counts as four SD.
double heldDeviation(const UsualLevel& level, const UsualReading& reading, const UsualSettings& settings)
{
    const double usual = level.usual(settings);
    if (reading.kind != UsualReading::Kind::Number)
        return usual + (reading.kind == UsualReading::Kind::High ? kHeld : -kHeld) * reading.cv;
    const double deviation = 100 * (reading.value - reading.base) / reading.base;
    return usual + std::clamp(deviation - usual, -kHeld * reading.cv, kHeld * reading.cv);
}

void moveSum(double& sum, std::optional<std::int64_t>& since, double score, std::int64_t mark, const UsualSettings& settings)
{
    const double before = sum;
    sum = std::clamp(sum + score - settings.k, 0.0, 2 * settings.h);
    if (sum <= kOnLimit) {
        sum = 0;
        since.reset();
    } else if (before <= 0) {
        since = mark;
    }
}

/// An end comes before a new telling, and the other side may be told in the same set.
void tell(UsualState& state, const UsualSettings& settings)
{
    if ((state.told == Way::High && state.up <= 0) || (state.told == Way::Low && state.down <= 0)) {
        state.told = Way::None;
        state.began.reset();
        state.stopped = state.lot = false;
    }
    if (state.told != Way::None)
        return;
    if (above(state.up, settings.h)) {
        state.told = Way::High;
        state.began = state.upSince;
    } else if (above(state.down, settings.h)) {
        state.told = Way::Low;
        state.began = state.downSince;
    }
}

/// Further than the limit in the told direction, from the usual value or from the group.
bool beyond(const LevelMove& level, double direction, double takenOff)
{
    return level.newest
        && (above(direction * (*level.newest - level.usual - takenOff), level.limit)
            || above(direction * (*level.newest - takenOff), level.limit));
}

} // namespace

double UsualLevel::usual(const UsualSettings& settings) const
{
    return (settings.prior * start + sum) / (settings.prior + static_cast<double>(n));
}

std::optional<double> UsualLevel::newestMean() const
{
    if (newest.size() < kFewestNewest)
        return std::nullopt;
    return std::accumulate(newest.begin(), newest.end(), 0.0) / static_cast<double>(newest.size());
}

bool UsualState::apart() const
{
    return std::ranges::any_of(levels, &UsualLevel::apart);
}

std::optional<double> LevelMove::moved() const
{
    if (!newest)
        return std::nullopt;
    return (*newest - usual) / cv;
}

double usualScore(const UsualLevel& before, const UsualReading& reading, const UsualSettings& settings)
{
    assert(reading.cv > 0 && reading.base > 0);
    constexpr double beyondAll = std::numeric_limits<double>::infinity();
    if (reading.kind != UsualReading::Kind::Number)
        return reading.kind == UsualReading::Kind::High ? beyondAll : -beyondAll;
    const double deviation = 100 * (reading.value - reading.base) / reading.base;
    return (deviation - before.usual(settings)) / (reading.cv * std::sqrt(1 + 1 / (settings.prior + static_cast<double>(before.n))));
}

double heldScore(double u)
{
    return std::clamp(u, -kHeld, kHeld);
}

UsualSet advance(UsualState& state, std::span<const UsualReading> readings, std::int64_t mark, const UsualSettings& settings)
{
    assert(!readings.empty());
    UsualSet set;
    std::vector<double> held;
    for (const auto& reading : readings) {
        const UsualLevel& level = state.levels.at(reading.level);
        const double u = usualScore(level, reading, settings);
        set.levels.push_back({ reading.level, reading.cv, reading.limit, level.usual(settings), u });
        set.score += heldScore(u);
        held.push_back(heldDeviation(level, reading, settings));
    }
    set.score /= std::sqrt(static_cast<double>(readings.size()));

    moveSum(state.up, state.upSince, set.score, mark, settings);
    moveSum(state.down, state.downSince, -set.score, mark, settings);
    tell(state, settings);
    for (std::size_t i = 0; i < readings.size(); ++i) {
        UsualLevel& level = state.levels[readings[i].level];
        level.newest.push_back(held[i]);
        if (level.newest.size() > settings.newest)
            level.newest.erase(level.newest.begin());
        set.levels[i].newest = level.newestMean();
        state.stopped = state.stopped || (state.told != Way::None && beyond(set.levels[i], signOf(state.told), 0));
        if (state.told == Way::None && level.n < settings.learned) {
            ++level.n;
            level.sum += held[i];
        }
        ++level.count;
        level.slow += std::max(1 / static_cast<double>(level.count), kSlowest) * (held[i] - level.slow);
    }
    return set;
}

void judgeApart(UsualState& state, const LevelMove& move, double others)
{
    UsualLevel& level = state.levels.at(move.level);
    if (level.count < kFewestSlow)
        return;
    if (level.silentAt && above(std::abs(level.slow - *level.silentAt), move.limit))
        level.silentAt.reset();
    const double distance = std::abs(level.slow - others);
    const double spread = move.cv * std::sqrt(std::max(1 / static_cast<double>(level.count), kSlowest / (2 - kSlowest)));
    if (level.apart)
        level.apart = above(distance, move.limit);
    else
        level.apart = !level.silentAt && above(distance, move.limit + kSurely * spread);
}

UsualStop judgeCause(UsualState& state, std::span<const OthersMove> levels)
{
    if (state.told == Way::None)
        return UsualStop::None;
    const double direction = signOf(state.told);
    double own = 0, others = 0;
    std::size_t n = 0;
    for (const auto& level : levels) {
        if (!level.others || !level.own.moved())
            continue;
        own += *level.own.moved();
        others += *level.others;
        ++n;
    }
    if (n > 0) {
        const double side = direction * others;
        if (state.lot)
            state.lot = side >= -kOnLimit;
        else
            state.lot = side > kOnLimit && side >= direction * own / 3 - kOnLimit;
    }
    if (!state.lot)
        return state.stopped ? UsualStop::Meter : UsualStop::None;
    const auto lotsMove = [](const OthersMove& level) { return level.others.value_or(0) * level.own.cv; };
    if (std::ranges::any_of(levels, [&](const OthersMove& level) { return above(direction * lotsMove(level), level.own.limit); }))
        return UsualStop::Lot;
    const bool stops = state.stopped
        && std::ranges::any_of(levels, [&](const OthersMove& level) { return beyond(level.own, direction, lotsMove(level)); });
    return stops ? UsualStop::Meter : UsualStop::None;
}

void restart(UsualState& state)
{
    state = {};
}

void acceptAsItStands(UsualState& state, const UsualSettings& settings)
{
    UsualState from;
    for (std::size_t i = 0; i < kUsualLevels; ++i) {
        const UsualLevel& was = state.levels[i];
        UsualLevel& level = from.levels[i];
        level.start = was.newestMean().value_or(was.usual(settings));
        level.newest = was.newest;
        level.slow = was.slow;
        level.count = was.count;
        if (was.count > 0)
            level.silentAt = was.slow;
    }
    state = from;
}

} // namespace mk::stats
