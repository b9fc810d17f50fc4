// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_simulation.h"

#include "stats/rule_chain_sample.h"
#include "stats/power/rule_chain_walk.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

TEST(SimulatedDeviate, IsTheSameEverywhere)
{
    // Recomputed by hand from SplitMix64 with seed 0: its first output is 0xE220A8397B1DCDAF (published test vector, from memory).
    const double uniform = (static_cast<double>(0xE220A8397B1DCDAFULL >> 12U) + 0.5) * 0x1p-52;
    EXPECT_NEAR(std::erfc(-simulatedDeviate(0, 0, 0) / std::sqrt(2.0)) / 2, uniform, 1e-14);
    EXPECT_NE(simulatedDeviate(0, 0, 1), simulatedDeviate(0, 1, 0));
    EXPECT_NE(simulatedDeviate(1, 0, 0), simulatedDeviate(0, 0, 0));
}

TEST(SimulatedDeviate, IsNormalAndIndependent)
{
    // Moments of a million deviates within 4.5 of their standard errors.
    double sum = 0, squares = 0, cubes = 0, fourths = 0, neighbours = 0;
    constexpr double kCount = 1e6;
    for (std::size_t i = 0; i < 1'000'000; ++i) {
        const double z = simulatedDeviate(i / 1000, i % 1000, i % 4);
        sum += z;
        squares += z * z;
        cubes += z * z * z;
        fourths += z * z * z * z;
        neighbours += z * simulatedDeviate(i / 1000, i % 1000 + 1, i % 4);
    }
    EXPECT_NEAR(sum / kCount, 0, 4.5 * 1e-3);
    EXPECT_NEAR(squares / kCount, 1, 4.5 * std::sqrt(2.0) * 1e-3);
    EXPECT_NEAR(cubes / kCount, 0, 4.5 * std::sqrt(15.0) * 1e-3);
    EXPECT_NEAR(fourths / kCount, 3, 4.5 * std::sqrt(96.0) * 1e-3);
    EXPECT_NEAR(neighbours / kCount, 0, 4.5 * 1e-3);
}

class SimulatedAndExact : public testing::TestWithParam<std::tuple<const char*, std::size_t>> { };

TEST_P(SimulatedAndExact, Agree)
{
    const auto [rules, levels] = GetParam();
    const RuleSettings settings = powerSettings(rules, levels);
    const std::size_t sets = levels == 1 ? 13 : (levels == 2 ? 7 : 5);
    const MethodError error { 0.9, 1.2 };
    const double exact = chainRejection(ruleChain(settings, sets).value(), error, sets);
    const Simulated simulated = simulatedRejection(settings, error, sets);
    EXPECT_NEAR(simulated.value, exact, 4.5 * simulated.standardError);
    EXPECT_GT(simulated.standardError, 0);
    EXPECT_LT(simulated.standardError, 0.002);
}

INSTANTIATE_TEST_SUITE_P(RuleSimulation, SimulatedAndExact,
    testing::Combine(testing::Values("1-2s", "1-3s", "2-2s", "R-4s", "4-1s", "6x", "8x", "9x", "10x", "12x", "3-1s", "2of3-2s",
                         "1-3s/2-2s/R-4s/4-1s/10x", "1-3s/2of3-2s/R-4s/3-1s/6x"),
        testing::Values(1U, 2U, 3U)));

TEST(SimulatedRunLength, AgreesWithTheChain)
{
    for (const double shift : { 0.0, 1.0, 2.5 }) {
        const RuleSettings settings = powerSettings("1-3s/2-2s/R-4s/4-1s/10x", 2);
        const Simulated simulated = simulatedRunLength(settings, { shift, 1 });
        const double exact = chainRunLength(ruleChain(settings, kAnyNumberOfSets).value(), { shift, 1 }).value();
        EXPECT_NEAR(simulated.value, exact, 4.5 * simulated.standardError) << shift;
        EXPECT_LT(simulated.standardError, 0.02 * exact);
    }
}

TEST(SimulatedRunLength, KnowsTheTrendRule)
{
    // Analytic: of seven results two orders in 5040 fire at the seventh, whatever the error; ControlSeries and drawn deviates agree.
    const RuleSettings settings = powerSettings("7T", 1);
    EXPECT_EQ(simulatedRejection(settings, {}, 6).value, 0);
    const Simulated atSeven = simulatedRejection(settings, { 2, 3 }, 7);
    EXPECT_NEAR(atSeven.value, 2.0 / 5040, 4.5 * atSeven.standardError);
    EXPECT_EQ(atSeven.value, simulatedRejection(settings, {}, 7).value); // the same deviates, in the same order
}

} // namespace mk::stats
