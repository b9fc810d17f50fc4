// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/inversions.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>

namespace mk::stats {

TEST(CountInversions, CountsFallingPairs) // analytic
{
    EXPECT_EQ(countInversions({}), 0U);
    EXPECT_EQ(countInversions({ 0 }), 0U);
    EXPECT_EQ(countInversions({ 0, 1, 2, 3 }), 0U);
    EXPECT_EQ(countInversions({ 4, 3, 2, 1, 0 }), 10U);
    EXPECT_EQ(countInversions({ 2, 0, 1 }), 2U);
}

TEST(PickInversions, EnumeratesEachFallingPairOnce)
{
    std::mt19937 random(1);
    std::vector<std::uint32_t> sequence(57);
    std::iota(sequence.begin(), sequence.end(), 0U);
    std::ranges::shuffle(sequence, random);
    std::vector<std::pair<std::uint32_t, std::uint32_t>> expected;
    for (std::size_t i = 0; i < sequence.size(); ++i) {
        for (std::size_t j = i + 1; j < sequence.size(); ++j) {
            if (sequence[i] > sequence[j])
                expected.emplace_back(sequence[i], sequence[j]);
        }
    }
    std::vector<std::uint64_t> places(expected.size());
    std::iota(places.begin(), places.end(), 0U);
    ASSERT_EQ(countInversions(sequence), expected.size());
    auto all = pickInversions(sequence, places);
    const std::vector<std::uint64_t> three = { 0, 100, expected.size() - 1 };
    EXPECT_EQ(pickInversions(sequence, three), (std::vector { all[0], all[100], all.back() }));
    std::ranges::sort(all);
    std::ranges::sort(expected);
    EXPECT_EQ(all, expected);
}

} // namespace mk::stats
