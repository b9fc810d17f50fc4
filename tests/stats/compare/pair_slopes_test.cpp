// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/pair_slopes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

std::vector<GridPoint> tiedPoints(std::mt19937& random, std::size_t n, std::int64_t span)
{
    std::uniform_int_distribution<std::int64_t> draw(-span, span);
    std::vector<GridPoint> points(n);
    for (GridPoint& point : points)
        point = { draw(random), draw(random) };
    return points;
}

std::vector<std::uint64_t> ranksUpTo(std::uint64_t last)
{
    std::vector<std::uint64_t> ranks(last);
    std::iota(ranks.begin(), ranks.end(), 1U);
    return ranks;
}

/// Both ways at these ranks, compared bit by bit.
void expectBothWaysAgree(const std::vector<GridPoint>& points, const std::vector<std::uint64_t>& ranks)
{
    auto list = listPairSlopes(points);
    ASSERT_EQ(list.used, countUsedSlopes(points));
    const auto listed = slopesAtRanks(list, ranks);
    const auto selected = selectPairSlopes(points, ranks);
    ASSERT_EQ(listed.size(), ranks.size());
    ASSERT_EQ(selected.size(), ranks.size());
    for (std::size_t i = 0; i < ranks.size(); ++i) {
        ASSERT_EQ(listed[i].has_value(), selected[i].has_value()) << "rank " << ranks[i];
        ASSERT_EQ(std::bit_cast<std::uint64_t>(listed[i].value_or(0)), std::bit_cast<std::uint64_t>(selected[i].value_or(0)))
            << "rank " << ranks[i] << " of " << points.size() << " points";
    }
}

/// A few ranks about the middle and at the ends.
std::vector<std::uint64_t> someRanks(std::uint64_t used)
{
    std::vector<std::uint64_t> ranks = { 1, 2, used / 4, (used + 1) / 2, used / 2 + 1, used - used / 4, used - 1, used };
    for (std::uint64_t& rank : ranks)
        rank = std::clamp<std::uint64_t>(rank, 1, used);
    std::ranges::sort(ranks);
    return ranks;
}

} // namespace

TEST(PairSlopes, StandInTheOrderOfTheRule) // analytic
{
    // From just above -1: -0.5, 0, 0.5, 1, vertical, -2; dropped: (0,0) twice, and slopes of -1.
    const std::vector<GridPoint> points = { { 0, 0 }, { 0, 0 }, { 2, -1 }, { 2, 0 } };
    // slopes: identical; -0.5 twice; 0 twice; vertical once
    const std::vector<std::uint64_t> ranks = ranksUpTo(5);
    const std::vector<std::optional<double>> expected = { -0.5, -0.5, 0, 0, std::nullopt };
    EXPECT_EQ(selectPairSlopes(points, ranks), expected);
    const auto counts = countPairSlopes(points);
    EXPECT_EQ(counts.used, 5U);
    EXPECT_EQ(counts.identical, 1U);
    EXPECT_EQ(counts.vertical, 1U);
    EXPECT_EQ(counts.minusOne, 0U);
    EXPECT_EQ(counts.below, 0U);
}

TEST(PairSlopes, CountEachKind) // against all pairs
{
    std::mt19937 random(2);
    for (int trial = 0; trial < 300; ++trial) {
        const auto points = tiedPoints(random, 2 + static_cast<std::size_t>(trial) % 20, 1 + trial % 7);
        PairSlopeCounts expected;
        for (std::size_t i = 0; i < points.size(); ++i) {
            for (std::size_t j = i + 1; j < points.size(); ++j) {
                const auto dx = points[j].x - points[i].x;
                const auto dy = points[j].y - points[i].y;
                expected.identical += dx == 0 && dy == 0 ? 1U : 0U;
                expected.vertical += dx == 0 && dy != 0 ? 1U : 0U;
                expected.minusOne += dx != 0 && dy == -dx ? 1U : 0U;
                expected.below += (dx > 0 && dy < -dx) || (dx < 0 && dy > -dx) ? 1U : 0U;
                expected.used += dx + dy != 0 ? 1U : 0U;
            }
        }
        const auto counts = countPairSlopes(points);
        ASSERT_EQ(counts.identical, expected.identical);
        ASSERT_EQ(counts.vertical, expected.vertical);
        ASSERT_EQ(counts.minusOne, expected.minusOne);
        ASSERT_EQ(counts.below, expected.below);
        ASSERT_EQ(counts.used, expected.used);
        ASSERT_EQ(countUsedSlopes(points), expected.used);
    }
}

TEST(PairSlopes, BothWaysAgreeToTheLastBitOnTies)
{
    std::mt19937 random(3);
    for (int trial = 0; trial < 4000; ++trial) {
        const auto points = tiedPoints(random, 2 + static_cast<std::size_t>(trial) % 60, 1 + trial % 13);
        const auto used = countUsedSlopes(points);
        expectBothWaysAgree(points, trial % 10 == 0 ? ranksUpTo(used) : used > 0 ? someRanks(used) : ranksUpTo(0));
    }
}

TEST(PairSlopes, BothWaysAgreeWithManyPoints) // several rounds of brackets
{
    std::mt19937 random(4);
    for (const std::int64_t span : { 3, 30, 500, 100'000, 1'000'000'000 }) {
        for (const std::size_t n : { 100U, 611U, 2000U }) {
            const auto points = tiedPoints(random, n, span);
            expectBothWaysAgree(points, someRanks(countUsedSlopes(points)));
        }
    }
}

TEST(PairSlopes, BothWaysAgreeOnLinesAndMeters)
{
    std::mt19937 random(5);
    std::uniform_int_distribution<std::int64_t> glucose(40, 400);
    std::normal_distribution<double> error(0, 0.05);
    std::vector<GridPoint> meter(1500);
    std::vector<GridPoint> line(1500);
    std::vector<GridPoint> step(1500);
    for (std::size_t i = 0; i < meter.size(); ++i) {
        const auto truth = glucose(random);
        meter[i] = { truth, std::llround(static_cast<double>(truth) * (1 + error(random))) };
        line[i] = { truth, truth + 3 };
        step[i] = { truth, truth > 200 ? 300 : 100 };
    }
    for (const auto& points : { meter, line, step })
        expectBothWaysAgree(points, someRanks(countUsedSlopes(points)));
}

TEST(PairSlopes, BothWaysAgreeOnTheWidestGrid)
{
    std::mt19937 random(6);
    const auto points = tiedPoints(random, 500, 1LL << 52);
    expectBothWaysAgree(points, someRanks(countUsedSlopes(points)));
    expectBothWaysAgree({ { -(1LL << 52), -(1LL << 52) }, { 1LL << 52, 1LL << 52 }, { 0, 1 } }, ranksUpTo(3));
}

TEST(PairSlopes, HaveNoRanksWithoutSpread)
{
    const std::vector<GridPoint> same(900, GridPoint { 5, 7 });
    EXPECT_EQ(countUsedSlopes(same), 0U);
    EXPECT_TRUE(selectPairSlopes(same, {}).empty());
    EXPECT_EQ(countUsedSlopes({}), 0U);
    EXPECT_EQ(countPairSlopes(same).identical, 900U * 899U / 2);
}

} // namespace mk::stats
