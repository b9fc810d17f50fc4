// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_chain_walk.h"

#include "stats/rule_chain_sample.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

namespace {

const std::vector<double> kEveryCut = { -3, -2, -1, 0, 1, 2, 3 };
const std::vector<double> kMeanCut = { 0 };

double walkedRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets)
{
    return chainRejection(ruleChain(settings, sets).value(), error, sets);
}

} // namespace

struct WalkCase {
    const char* rules;
    std::size_t levels;
    std::size_t sets;
    const std::vector<double>* cuts;
};

class EveryZoneSequence : public testing::TestWithParam<WalkCase> { };

// Recomputed here, to the last digits: every sequence of zones, judged by ControlSeries itself.
TEST_P(EveryZoneSequence, GivesTheSameChance)
{
    const auto& [rules, levels, sets, cuts] = GetParam();
    const RuleSettings settings = powerSettings(rules, levels);
    for (const MethodError& error : { MethodError { 0, 1 }, MethodError { 1.3, 1 }, MethodError { -0.7, 1.8 } })
        EXPECT_NEAR(walkedRejection(settings, error, sets), enumeratedRejection(settings, error, sets, *cuts), 1e-12)
            << rules << ", " << levels << " levels, " << sets << " sets, shift " << error.shift;
}

INSTANTIATE_TEST_SUITE_P(RuleChain, EveryZoneSequence,
    testing::Values(WalkCase { "1-2s/1-3s", 4, 1, &kEveryCut }, WalkCase { "2-2s", 2, 2, &kEveryCut },
        WalkCase { "2-2s", 1, 4, &kEveryCut }, WalkCase { "R-4s", 2, 2, &kEveryCut }, WalkCase { "R-4s", 4, 1, &kEveryCut },
        WalkCase { "R-4s/1-3s", 3, 1, &kEveryCut }, WalkCase { "4-1s", 2, 3, &kEveryCut }, WalkCase { "4-1s", 4, 1, &kEveryCut },
        WalkCase { "4-1s", 1, 5, &kEveryCut }, WalkCase { "3-1s", 3, 2, &kEveryCut }, WalkCase { "3-1s", 2, 3, &kEveryCut },
        WalkCase { "3-1s/4-1s", 2, 3, &kEveryCut }, WalkCase { "3-1s", 4, 1, &kEveryCut }, WalkCase { "2of3-2s", 3, 2, &kEveryCut },
        WalkCase { "2of3-2s", 2, 3, &kEveryCut }, WalkCase { "2of3-2s/2-2s", 1, 5, &kEveryCut }, WalkCase { "2of3-2s", 4, 1, &kEveryCut },
        WalkCase { "6x/1-3s", 3, 2, &kEveryCut }, WalkCase { "1-3s/2-2s/R-4s/4-1s/6x", 2, 3, &kEveryCut },
        WalkCase { "1-3s/2of3-2s/R-4s/3-1s/6x", 3, 2, &kEveryCut }, WalkCase { "1-3s/2-2s/R-4s/4-1s", 4, 1, &kEveryCut },
        WalkCase { "6x", 4, 3, &kMeanCut }, WalkCase { "8x", 4, 3, &kMeanCut }, WalkCase { "9x", 3, 4, &kMeanCut },
        WalkCase { "10x", 2, 6, &kMeanCut }, WalkCase { "12x", 4, 3, &kMeanCut }, WalkCase { "12x", 1, 13, &kMeanCut },
        WalkCase { "8x/12x", 3, 4, &kMeanCut }),
    [](const auto& one) {
        std::string name = std::string(one.param.rules) + "_" + std::to_string(one.param.levels) + "_levels_"
            + std::to_string(one.param.sets);
        for (char& c : name)
            c = std::isalnum(static_cast<unsigned char>(c)) != 0 ? c : '_';
        return name;
    });

TEST(ChainRejection, IsTheSameFromAChainForAnyNumberOfSets)
{
    const RuleSettings settings = powerSettings("1-3s/2-2s/R-4s/4-1s/10x", 2);
    const RuleChain whole = ruleChain(settings, kAnyNumberOfSets).value();
    for (const std::size_t sets : { 1U, 3U, 11U })
        EXPECT_NEAR(chainRejection(whole, { 0.8, 1.2 }, sets), walkedRejection(settings, { 0.8, 1.2 }, sets), 1e-14);
}

TEST(ChainRejection, GoesOnAsGeometricSeriesOnceItIsSteady)
{
    // Analytic: 1-3s remembers nothing, so it lets n sets pass with the n-th power of the chance for one.
    const RuleChain chain = ruleChain(powerSettings("1-3s", 1), kAnyNumberOfSets).value();
    const double one = std::erfc(3 / std::sqrt(2.0));
    for (const std::size_t sets : { 1U, 10U, 100U, 1000U })
        EXPECT_NEAR(chainRejection(chain, {}, sets), 1 - std::pow(1 - one, static_cast<double>(sets)), 1e-13);
}

class ChainRunLength : public testing::TestWithParam<std::pair<const char*, std::size_t>> { };

// The definition: the sum of the chances to get through n sets.
TEST_P(ChainRunLength, IsTheSumOfTheChancesToGetThrough)
{
    const RuleSettings settings = powerSettings(GetParam().first, GetParam().second);
    const RuleChain chain = ruleChain(settings, kAnyNumberOfSets).value();
    for (const MethodError& error : { MethodError { 1.5, 1 }, MethodError { 0.8, 1.5 }, MethodError { -3, 0.5 } }) {
        double sum = 0;
        double through = 1;
        for (std::size_t sets = 1; through > 1e-13 && sets < 20'000; ++sets) {
            sum += through;
            through = 1 - chainRejection(chain, error, sets);
        }
        EXPECT_NEAR(chainRunLength(chain, error).value() / sum, 1, 1e-9) << error.shift;
    }
}

INSTANTIATE_TEST_SUITE_P(RuleChain, ChainRunLength,
    testing::Values(std::pair { "1-2s", 1U }, std::pair { "1-3s/2-2s/4-1s/10x", 1U }, std::pair { "1-3s/2-2s/R-4s/4-1s", 2U },
        std::pair { "6x", 3U }, std::pair { "12x", 1U }, std::pair { "2of3-2s/3-1s", 3U }),
    [](const auto& one) { return "case" + std::to_string(one.index); });

TEST(ChainRunLength, IsTwoToTheNLessOneForNOnASide)
{
    // Analytic, statistics README: 63, 255, 511, 1023, 4095.
    for (const auto& [rule, length] :
        std::vector<std::pair<std::string, double>> { { "6x", 63 }, { "8x", 255 }, { "9x", 511 }, { "10x", 1023 }, { "12x", 4095 } })
        EXPECT_NEAR(chainRunLength(ruleChain(powerSettings(rule, 1), kAnyNumberOfSets).value(), {}).value() / length, 1, 1e-9) << rule;
}

TEST(ChainRunLength, IsNothingWhereNoRuleCanFire)
{
    EXPECT_FALSE(chainRunLength(ruleChain(powerSettings("R-4s", 1), kAnyNumberOfSets).value(), {}).has_value());
    EXPECT_EQ(chainRejection(ruleChain(powerSettings("R-4s", 1), 5).value(), {}, 5), 0);
}

TEST(ChainRunLength, EndsWhereTheShiftLeavesNoDoubt)
{
    EXPECT_NEAR(chainRunLength(ruleChain(powerSettings("12x", 1), kAnyNumberOfSets).value(), { 10, 1 }).value(), 12, 1e-9);
    EXPECT_NEAR(chainRunLength(ruleChain(powerSettings("1-3s", 1), kAnyNumberOfSets).value(), { 10, 0.01 }).value(), 1, 1e-9);
    // Analytic: half the results lie on either side, however wide.
    EXPECT_NEAR(chainRunLength(ruleChain(powerSettings("6x", 1), kAnyNumberOfSets).value(), { 0, 100 }).value(), 63, 1e-7);
}

} // namespace mk::stats
