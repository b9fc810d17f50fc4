// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_chain.h"

#include "stats/rule_chain_sample.h"

#include <gtest/gtest.h>

namespace mk::stats {

TEST(RuleChain, HasOneStateForEachHistoryThatTheRulesTellApart)
{
    // Counted by hand for 1-3s/2-2s/4-1s/10x: a run of m results on a side, the last c of them beyond 1 SD, the newest perhaps beyond
    // 2 SD: 3 + 5 + 7 * 7 on each side, and no history at all.
    EXPECT_EQ(ruleChain(powerSettings("1-3s/2-2s/4-1s/10x", 1), kAnyNumberOfSets)->steps.size(), 115U);
    EXPECT_EQ(ruleChain(powerSettings("12x", 1), kAnyNumberOfSets)->steps.size(), 23U);
    // 10x never fires before 8x.
    EXPECT_EQ(ruleChain(powerSettings("8x/10x", 1), kAnyNumberOfSets)->steps.size(),
        ruleChain(powerSettings("8x", 1), kAnyNumberOfSets)->steps.size());
}

TEST(RuleChain, CutsScoresOnlyWhereARuleInUseCuts)
{
    EXPECT_EQ(ruleChain(powerSettings("1-3s", 1), 1)->zones.size(), 3U);
    EXPECT_EQ(ruleChain(powerSettings("10x", 1), 1)->zones.size(), 2U);
    EXPECT_EQ(ruleChain(powerSettings("R-4s", 1), 1)->zones.size(), 1U); // nothing to read in a set of one level
    EXPECT_EQ(ruleChain(powerSettings("R-4s", 2), 1)->zones.size(), 3U);
    const auto all = ruleChain(powerSettings("1-3s/2-2s/4-1s/10x", 1), 1);
    ASSERT_EQ(all->zones.size(), 8U);
    EXPECT_EQ(all->zones[0].side, -1);
    EXPECT_EQ(all->zones[0].beyond, 3);
    EXPECT_EQ(all->zones[4].side, 1);
    EXPECT_EQ(all->zones[4].beyond, 0);
}

TEST(RuleChain, NeedsOnlyTheStatesThatSoManySetsReach)
{
    EXPECT_EQ(ruleChain(powerSettings("1-3s/2-2s/4-1s/10x", 1), 1)->steps.size(), 7U);
    EXPECT_TRUE(ruleChain(powerSettings("1-3s/2-2s/4-1s/10x", 4), 1).has_value());
    EXPECT_FALSE(ruleChain(powerSettings("1-3s/2-2s/4-1s/10x", 4), kAnyNumberOfSets).has_value());
    EXPECT_TRUE(ruleChain(powerSettings("1-3s/2-2s/R-4s/4-1s/10x", 3), kAnyNumberOfSets).has_value());
}

} // namespace mk::stats
