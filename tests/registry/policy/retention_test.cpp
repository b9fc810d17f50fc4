// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 8.7.
#include "registry/policy/retention.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

Policy keepingFor(int years)
{
    Policy policy = defaultPolicy();
    policy.retentionYears = years;
    return policy;
}

base::Date date(const char* text)
{
    return base::parseDate(text).value();
}

} // namespace

TEST(Retention, EndsOnTheSameDayYearsLater)
{
    EXPECT_EQ(retentionEnds(date("2026-05-04"), defaultPolicy()), date("2028-05-04"));
    EXPECT_EQ(retentionEnds(date("2026-05-04"), keepingFor(5)), date("2031-05-04"));
    EXPECT_EQ(retentionEnds(date("2028-02-29"), keepingFor(2)), date("2030-02-28"));
    EXPECT_EQ(retentionEnds(date("2028-02-29"), keepingFor(4)), date("2032-02-29"));
}

TEST(Retention, TheNewestDayThatHasHadItsTimeIsTheOneBeforeTheFirstThatHasNot)
{
    for (const int years : { 2, 3, 4, 10 })
        for (base::Date today = date("2028-02-25"); today <= date("2028-03-05"); today = base::addDays(today, 1)) {
            const base::Date day = retainedSince(today, keepingFor(years));
            EXPECT_LT(retentionEnds(day, keepingFor(years)), today) << base::toText(today);
            EXPECT_GE(retentionEnds(base::addDays(day, 1), keepingFor(years)), today) << base::toText(today);
        }
}

} // namespace mk::registry
