// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 7.2 and 13: a month that is not signed by its day is late.
#include "registry/month/month_due.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;

using Reviews = std::vector<Record<acts::ReviewSigned>>;
const base::WardId kW1("W1"), kW2("W2");

Record<acts::ReviewSigned> signedOn(std::string_view time, const std::string& month, std::optional<base::WardId> ward = std::nullopt)
{
    acts::ReviewSigned review;
    review.at = at(time);
    review.by = base::OperatorId("C1");
    review.month = month;
    review.ward = std::move(ward);
    return { { 9 }, review };
}

MonthStanding standing(const Reviews& reviews, std::string_view now, const std::optional<base::WardId>& ward = kW1, int day = 10)
{
    Policy policy = defaultPolicy();
    policy.reviewDueDay = day;
    return monthSignature(reviews, { 2026, 5 }, ward, at(now), policy, berlin()).standing;
}

} // namespace

TEST(MonthDue, IsADayOfTheMonthAfter)
{
    EXPECT_EQ(base::toText(signatureDue({ 2026, 5 }, defaultPolicy())), "2026-06-10");
    EXPECT_EQ(base::toText(signatureDue({ 2026, 12 }, defaultPolicy())), "2027-01-10");
    Policy late = defaultPolicy();
    late.reviewDueDay = 28;
    EXPECT_EQ(base::toText(signatureDue({ 2026, 1 }, late)), "2026-02-28");
}

TEST(MonthDue, TheDayItselfIsInTime)
{
    EXPECT_EQ(standing({}, "2026-05-31T23:59"), MonthStanding::NotOver);
    EXPECT_EQ(standing({}, "2026-06-01T00:00"), MonthStanding::Waiting);
    EXPECT_EQ(standing({}, "2026-06-10T23:59"), MonthStanding::Waiting);
    EXPECT_EQ(standing({}, "2026-06-11T00:00"), MonthStanding::Late);
    EXPECT_EQ(standing({}, "2026-06-06T00:00", kW1, 5), MonthStanding::Late);
    EXPECT_EQ(standing({ signedOn("2026-06-10T23:59", "2026-05") }, "2026-07-01T00:00"), MonthStanding::Signed);
    EXPECT_EQ(standing({ signedOn("2026-06-11T00:00", "2026-05") }, "2026-07-01T00:00"), MonthStanding::SignedLate);
    EXPECT_EQ(standing({ signedOn("2026-06-12T00:00", "2026-05") }, "2026-06-11T12:00"), MonthStanding::Late) << "not signed yet then";
}

TEST(MonthDue, ASignatureForAllWardsSignsEachAndOneForAWardOnlyThatOne)
{
    const Reviews all { signedOn("2026-06-02T08:00", "2026-05") }, one { signedOn("2026-06-02T08:00", "2026-05", kW1) };
    EXPECT_EQ(standing(all, "2026-06-20T00:00", kW2), MonthStanding::Signed);
    EXPECT_EQ(standing(one, "2026-06-20T00:00", kW1), MonthStanding::Signed);
    EXPECT_EQ(standing(one, "2026-06-20T00:00", kW2), MonthStanding::Late);
    EXPECT_EQ(standing(one, "2026-06-20T00:00", std::nullopt), MonthStanding::Late) << "all wards together were not signed";
    EXPECT_EQ(standing({ signedOn("2026-06-02T08:00", "2026-04") }, "2026-06-20T00:00"), MonthStanding::Late) << "another month";
}

TEST(MonthDue, TheFirstSignatureDecidesWhetherItCameInTime)
{
    const Reviews twice { signedOn("2026-06-02T08:00", "2026-05"), signedOn("2026-06-15T08:00", "2026-05") };
    EXPECT_EQ(standing(twice, "2026-06-20T00:00"), MonthStanding::Signed);
}

} // namespace mk::registry
