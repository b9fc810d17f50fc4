// SPDX-License-Identifier: GPL-3.0-or-later
// The power of control rules beside a simulation that draws zones, not deviates: the fastest honest way without the chain.
#include "ratio.h"
#include "stats/power/rule_power.h"

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <vector>

namespace {

using namespace mk::stats;

constexpr std::size_t kSets = 10;
constexpr std::size_t kTrials = 1'000'000;

RuleSettings benchRules(std::size_t levels)
{
    RuleSettings settings;
    settings.rules = { Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::TenX };
    settings.levels = levels;
    return settings;
}

std::vector<MethodError> benchShifts()
{
    std::vector<MethodError> errors;
    for (int i = 0; i <= 50; ++i)
        errors.push_back({ 0.08 * i, 1 });
    return errors;
}

struct BenchRandom {
    std::uint64_t state = 88172645463325252ULL;
    std::uint64_t next()
    {
        state ^= state << 13U;
        state ^= state >> 7U;
        state ^= state << 17U;
        return state;
    }
};

/// Sixteen bits of a random number pick one of 65536 places in a table of zones: 0 to 7.
std::vector<std::uint8_t> zoneTable(double shift)
{
    std::vector<std::uint8_t> table;
    for (std::uint8_t zone = 0; zone < 8; ++zone) {
        const double upTo = zone == 7 ? 1 : std::erfc(-(zone - 3 - shift) / std::sqrt(2.0)) / 2;
        while (static_cast<double>(table.size()) < upTo * 65536)
            table.push_back(zone);
    }
    return table;
}

/// One level, ten results a trial: no arithmetic, one look into the table of states a result. The last state is where a rule has fired.
std::size_t drawnTrials(const RuleChain& chain, double shift)
{
    const std::vector<std::uint8_t> zones = zoneTable(shift);
    const std::size_t fired = chain.steps.size();
    std::vector<std::uint8_t> next(8 * (fired + 1), static_cast<std::uint8_t>(fired));
    for (std::size_t state = 0; state < fired; ++state) {
        for (const RuleChain::Move& move : chain.steps[state].moves)
            next[8 * state + move.zone] = static_cast<std::uint8_t>(move.to);
    }
    BenchRandom random;
    std::size_t rejected = 0;
    for (std::size_t trial = 0; trial < kTrials; ++trial) {
        std::size_t state = 0;
        std::uint64_t bits = 0;
        for (std::size_t i = 0; i < kSets; ++i) {
            bits = i % 4 == 0 ? random.next() : bits >> 16U;
            state = next[8 * state + zones[bits & 0xFFFFU]];
        }
        rejected += state == fired ? 1U : 0U;
    }
    return rejected;
}

} // namespace

int main()
{
    using mk::bench::keep;
    using mk::bench::printRatio;
    const auto errors = benchShifts();
    const std::vector<MethodError> one = { { 1, 1 } };
    const RuleChain chain = ruleChain(benchRules(1), kAnyNumberOfSets).value();
    const auto draw = [&] { keep(drawnTrials(chain, 1)); };
    std::printf("chain %.6f, drawn %.6f\n", (*rejectionChances(benchRules(1), one, kSets))[0].value,
        static_cast<double>(drawnTrials(chain, 1)) / kTrials);
    printRatio(
        "51 shifts, 1 level, 10 sets / one drawn point", [&] { keep(*rejectionChances(benchRules(1), errors, kSets)); }, draw, 0.51, 0.01);
    printRatio(
        "51 shifts, 2 levels, 1 set / one drawn point", [&] { keep(*rejectionChances(benchRules(2), errors, 1)); }, draw, 0.51, 0.01);
    printRatio(
        "51 shifts, 2 levels, 10 sets / one drawn point", [&] { keep(*rejectionChances(benchRules(2), errors, kSets)); }, draw, 0, 0);
    printRatio(
        "51 run lengths, 1 level / one drawn point", [&] { keep(*averageRunLengths(benchRules(1), errors)); }, draw, 0, 0);
    printRatio(
        "one run length, 2 levels / one drawn point", [&] { keep(*averageRunLengths(benchRules(2), one)); }, draw, 0, 0);
    return 0;
}
