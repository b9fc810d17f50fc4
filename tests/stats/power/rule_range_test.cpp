// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_range.h"

#include "stats/rule_chain_sample.h"
#include "stats/power/rule_chain_walk.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>

namespace mk::stats {

namespace {

const ScoreZone kRangeEverything { -std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity(), 0, 0 };

} // namespace

TEST(ChancesWithinFour, MeetTheDistributionOfADifference)
{
    // Analytic: the difference of two results has SD sqrt(2) times theirs.
    for (const double random : { 0.05, 0.5, 1.0, 3.0, 100.0 }) {
        const auto within = chancesWithinFour({ kRangeEverything }, 2, { 2.5, random });
        EXPECT_NEAR(within.at(0), std::erf(4 / random / 2), 1e-13) << random;
    }
}

TEST(ChancesWithinFour, MeetTheDistributionOfARange)
{
    // Analytic, statistics/pfr_analytic.csv: R-4s B.
    EXPECT_NEAR(1 - chancesWithinFour({ kRangeEverything }, 2, {})[0], 0.00467773, 1e-8);
    EXPECT_NEAR(1 - chancesWithinFour({ kRangeEverything }, 3, {})[0], 0.01298766, 1e-8);
    EXPECT_NEAR(1 - chancesWithinFour({ kRangeEverything }, 4, {})[0], 0.02418332, 1e-8);
}

TEST(ChancesWithinFour, AreTheSameHoweverTheZonesAreCut)
{
    const MethodError error { 0.4, 1.7 };
    const double whole = chancesWithinFour({ kRangeEverything }, 3, error)[0];
    const auto phi = [&](double x) { return std::erfc(-(x - error.shift) / error.random / std::sqrt(2.0)) / 2; };
    const std::vector<ScoreZone> zones = { { kRangeEverything.lower, -2, -1, 2 }, { -2, 0, -1, 0 }, { 0, 1, 1, 0 },
        { 1, kRangeEverything.upper, 1, 1 } };
    std::vector<double> chance;
    for (const ScoreZone& zone : zones)
        chance.push_back(phi(zone.upper) - phi(zone.lower));
    const auto parts = chancesWithinFour(zones, 3, error);
    ASSERT_EQ(parts.size(), 64U);
    double sum = 0;
    for (std::size_t i = 0; i < parts.size(); ++i)
        sum += parts[i] * chance[i / 16] * chance[i / 4 % 4] * chance[i % 4];
    EXPECT_NEAR(sum, whole, 1e-12);
    EXPECT_NEAR(parts[16 * 1 + 4 * 1 + 2], 1, 1e-12); // all within -2 and 1
}

TEST(RangeOfFour, AgreesWithSeriesThatAreDrawn)
{
    // Drawn here and judged by ControlSeries: 40,000 series, within 4.5 standard errors.
    for (const std::size_t levels : { 2U, 3U, 4U }) {
        const RuleSettings settings = powerSettings("1-3s/2-2s/R-4s/4-1s", levels, RangeReading::Difference);
        const MethodError error { 0.6, 1.3 };
        const std::size_t sets = levels == 4 ? 2 : 3;
        const double exact = chainRejection(ruleChain(settings, sets).value(), error, sets);
        EXPECT_NEAR(drawnRejection(settings, error, sets, 40'000, 7), exact, 4.5 * std::sqrt(exact * (1 - exact) / 40'000)) << levels;
    }
}

// At a shift of 10 steps of 8e-16 are lost in rounding: the search for breaks never came to its end.
TEST(ChancesWithinFour, EndWhereResultsHardlyScatter)
{
    const double infinity = std::numeric_limits<double>::infinity();
    const std::vector<ScoreZone> zones = { { -infinity, 3, 0, 0 }, { 3, infinity, 1, 3 } };
    const auto chances = chancesWithinFour(zones, 2, { 10, 8e-16 });
    ASSERT_EQ(chances.size(), 4U);
    for (const double chance : chances)
        EXPECT_TRUE(chance >= 0 && chance <= 1) << chance;
}

} // namespace mk::stats
