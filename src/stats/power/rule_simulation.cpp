// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_simulation.h"

#include <boost/math/special_functions/erf.hpp>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

namespace mk::stats {

namespace {

constexpr std::size_t kSimulatedSets = 2'000'000;
constexpr std::size_t kLongestSeries = 1'000'000;
constexpr std::size_t kPilotSeries = 200;
constexpr std::size_t kShareSets = 1'000;
constexpr std::size_t kPastTheStart = 12; // no rule looks back further

/// No long double on the way: it is not the same on every machine.
using SimulationPolicy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

std::uint64_t simulatedBits(std::uint64_t counter)
{
    std::uint64_t bits = (counter + 1) * 0x9E3779B97F4A7C15ULL;
    bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBULL;
    return bits ^ (bits >> 31U);
}

void drawSet(std::vector<LevelScore>& set, const MethodError& error, std::size_t series, std::size_t i)
{
    for (std::size_t level = 0; level < set.size(); ++level)
        set[level] = { level, ControlScore::ofZ(error.shift + error.random * simulatedDeviate(series, i, level)) };
}

/// On how many sets of one series a rule fires.
std::size_t setsThatFire(ControlSeries& rules, std::size_t levels, const MethodError& error, std::size_t series)
{
    rules.restart();
    std::vector<LevelScore> set(levels, { 0, ControlScore::ofZ(0.0) });
    std::size_t fired = 0;
    for (std::size_t i = 0; i < kPastTheStart + kShareSets; ++i) {
        drawSet(set, error, series, i);
        const bool fires = !rules.add(set).empty();
        fired += fires && i >= kPastTheStart ? 1U : 0U;
    }
    return fired;
}

/// Sets up to and including the first on which a rule fires; most + 1 when none does.
std::size_t setsUntilFired(ControlSeries& rules, std::size_t levels, const MethodError& error, std::size_t series, std::size_t most)
{
    rules.restart();
    std::vector<LevelScore> set(levels, { 0, ControlScore::ofZ(0.0) });
    for (std::size_t i = 0; i < most; ++i) {
        drawSet(set, error, series, i);
        if (!rules.add(set).empty())
            return i + 1;
    }
    return most + 1;
}

} // namespace

double simulatedDeviate(std::size_t series, std::size_t set, std::size_t level)
{
    const std::uint64_t bits = simulatedBits((std::uint64_t { series } << 40U) | (std::uint64_t { set } << 2U) | level);
    const double uniform = (static_cast<double>(bits >> 12U) + 0.5) * 0x1p-52;
    return -std::numbers::sqrt2 * boost::math::erfc_inv(2 * uniform, SimulationPolicy());
}

Simulated simulatedRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets)
{
    const std::size_t count = std::clamp<std::size_t>(kSimulatedSets / sets, 2'000, 100'000);
    ControlSeries rules(settings);
    std::size_t fired = 0;
    for (std::size_t series = 0; series < count; ++series)
        fired += setsUntilFired(rules, settings.levels, error, series, sets) <= sets ? 1U : 0U;
    const auto n = static_cast<double>(count);
    const double likely = (static_cast<double>(fired) + 1) / (n + 2); // keeps the error of 0 and 1 above 0
    return { static_cast<double>(fired) / n, std::sqrt(likely * (1 - likely) / n) };
}

Simulated simulatedRunLength(const RuleSettings& settings, const MethodError& error)
{
    ControlSeries rules(settings);
    const auto length = [&](std::size_t series) {
        return static_cast<double>(setsUntilFired(rules, settings.levels, error, series, kLongestSeries));
    };
    double pilot = 0;
    for (std::size_t series = 0; series < kPilotSeries; ++series)
        pilot += length(series);
    const double wanted = static_cast<double>(kSimulatedSets) / (pilot / static_cast<double>(kPilotSeries));
    const auto count = static_cast<std::size_t>(std::clamp(wanted, 200.0, 50'000.0));

    // The series of the pilot are not used again: their mean has decided how many follow.
    double mean = 0;
    double squares = 0;
    for (std::size_t i = 0; i < count; ++i) {
        const double next = length(kPilotSeries + i);
        const double step = next - mean;
        mean += step / static_cast<double>(i + 1);
        squares += step * (next - mean);
    }
    const auto n = static_cast<double>(count);
    return { mean, std::sqrt(std::max(squares, 1.0) / (n - 1) / n) };
}

Simulated simulatedFiringShare(const RuleSettings& settings, const MethodError& error)
{
    constexpr std::size_t kSeries = kSimulatedSets / kShareSets;
    ControlSeries rules(settings);
    double sum = 0, squares = 0;
    for (std::size_t series = 0; series < kSeries; ++series) {
        const double share = static_cast<double>(setsThatFire(rules, settings.levels, error, series)) / kShareSets;
        sum += share;
        squares += share * share;
    }
    constexpr auto n = static_cast<double>(kSeries);
    const double mean = sum / n;
    const double least = 1.0 / static_cast<double>(kSimulatedSets); // keeps the error of 0 above 0
    return { mean, std::max(least, std::sqrt(std::max(squares / n - mean * mean, 0.0) / (n - 1))) };
}

} // namespace mk::stats
