// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/rank_correlation.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace mk::stats {

namespace {

/// Every pair of points, one by one.
RankCorrelation literalRanks(const std::vector<double>& x, const std::vector<double>& y)
{
    RankCorrelation ranks;
    for (std::size_t i = 0; i < x.size(); ++i)
        for (std::size_t j = i + 1; j < x.size(); ++j) {
            const int order = ((x[i] > x[j]) - (x[i] < x[j])) * ((y[i] > y[j]) - (y[i] < y[j]));
            ranks.concordant += order > 0 ? 1U : 0U;
            ranks.discordant += order < 0 ? 1U : 0U;
        }
    return ranks;
}

RankCorrelation ranksOf(const std::vector<double>& x, const std::vector<double>& y)
{
    return rankCorrelation(x, y).value();
}

} // namespace

TEST(RankCorrelation, CountsPairsOfPointsOneByOneWithTies)
{
    std::mt19937 random(7);
    for (int trial = 0; trial < 500; ++trial) {
        std::uniform_int_distribution<int> draw(0, 1 + trial % 17);
        std::vector<double> x, y;
        for (int i = 0; i < 1 + trial % 40; ++i) {
            x.push_back(draw(random));
            y.push_back(draw(random) + (trial % 3 - 1) * x.back());
        }
        const auto ranks = ranksOf(x, y);
        const auto literal = literalRanks(x, y);
        ASSERT_EQ(ranks.concordant, literal.concordant) << trial;
        ASSERT_EQ(ranks.discordant, literal.discordant) << trial;
        EXPECT_EQ(ranksOf(y, x).concordant, literal.concordant);
    }
}

TEST(RankCorrelation, IsKendallsTau)
{
    EXPECT_EQ(ranksOf({ 1, 2, 3 }, { 4, 7, 9 }).tau, 1);
    EXPECT_EQ(ranksOf({ 1, 2, 3 }, { 9, 7, 4 }).tau, -1);
    EXPECT_EQ(ranksOf({ 1, 2, 3, 4 }, { 2, 1, 4, 3 }).tau, 2 / 6.0); // four rise, two fall
    EXPECT_EQ(ranksOf({ 1, 2, 3 }, { 5, 5, 5 }).tau, 0);
    EXPECT_EQ(ranksOf({ 0.1, 0.2, 0.3 }, { 0.3, 0.2, 0.2 }).tau, -2 / 3.0);
    EXPECT_FALSE(ranksOf({ 1 }, { 2 }).tau.has_value());
}

TEST(RankCorrelation, RisesWhereMorePairsRiseThanFall)
{
    EXPECT_TRUE(ranksOf({ 1, 2, 3 }, { 4, 7, 6 }).rises());
    EXPECT_FALSE(ranksOf({ 1, 2 }, { 3, 3 }).rises());
    EXPECT_FALSE(ranksOf({ 5 }, { 5 }).rises());
}

TEST(RankCorrelation, SaysWhatIsWrongWithTheInput)
{
    EXPECT_FALSE(rankCorrelation(std::vector<double> {}, std::vector<double> {}));
    EXPECT_FALSE(rankCorrelation(std::vector<double> { 1, 2 }, std::vector<double> { 1 }));
    EXPECT_FALSE(rankCorrelation(std::vector<double> { 1, 2 }, std::vector<double> { 1, std::nan("") }));
}

} // namespace mk::stats
