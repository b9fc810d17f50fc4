// SPDX-License-Identifier: GPL-3.0-or-later
// Held against the figures of handbook 6.5: false tellings 0.14 a meter-year at the default, 0.62 with h 3, 1.5 at an SD 1.25 times the
// target's.
#include "registry/policy/drift_cost.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

/// One meter, controlled daily at two levels with a CV of 3 %.
CostWard oneMeter(double spread = 1)
{
    CostWard ward;
    ward.meters = 1;
    ward.setsAMonth = 365.0 / 12;
    ward.spread = spread;
    ward.levels = { { 3, 10 }, { 3, 6 } };
    return ward;
}

double tellsAYear(const Policy& policy, const CostWard& ward)
{
    const auto cost = driftCost(policy, ward);
    EXPECT_TRUE(cost) << cost.error().text;
    return cost ? 12 * cost->falseTells : -1;
}

} // namespace

TEST(DriftCost, IsThatOfTheHandbooksTable)
{
    Policy policy = defaultPolicy();
    EXPECT_NEAR(tellsAYear(policy, oneMeter()), 0.14, 0.01);
    EXPECT_NEAR(tellsAYear(policy, oneMeter(1.25)), 1.5, 0.15);
    policy.drift.h = 3;
    EXPECT_NEAR(tellsAYear(policy, oneMeter()), 0.62, 0.04);
}

TEST(DriftCost, SaysWhenAChangeIsToldOfAndStopped)
{
    CostWard ward = oneMeter();
    ward.levels = { { 3, 6 }, { 3, 6 } };
    const auto cost = driftCost(defaultPolicy(), ward);
    ASSERT_TRUE(cost) << cost.error().text;
    EXPECT_FALSE(cost->halfLimit.stopped) << "a mean on the limit is not beyond it";
    EXPECT_LT(cost->halfLimit.told, 5);
    EXPECT_LT(cost->wholeLimit.told, cost->halfLimit.told);
    EXPECT_NEAR(cost->wholeLimit.stopped.value_or(0), 3.5, 1e-9);
    ward.daysASet = 7;
    EXPECT_NEAR(driftCost(defaultPolicy(), ward)->wholeLimit.stopped.value_or(0), 24.5, 1e-9);
}

TEST(DriftCost, NeedsATarget)
{
    EXPECT_FALSE(driftCost(defaultPolicy(), {}));
    CostWard ward = oneMeter();
    ward.levels.front().cv = 0;
    EXPECT_FALSE(driftCost(defaultPolicy(), ward));
}

} // namespace mk::registry
