// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/lock_out.h"

#include <gtest/gtest.h>

#include <vector>

namespace mk::registry {
namespace {

constexpr int kTries = 5;
constexpr int kMinutes = 15;

base::Moment minute(std::int64_t n)
{
    return { n * 60'000, 0 };
}

std::vector<SecretEvent> failuresAt(std::initializer_list<std::int64_t> minutes)
{
    std::vector<SecretEvent> events;
    for (const auto each : minutes)
        events.push_back({ SecretEvent::What::Failed, minute(each) });
    return events;
}

} // namespace

TEST(LockOut, BeginsWithTheLastOfSoManyFailuresInARow)
{
    EXPECT_FALSE(lockOutOf(failuresAt({ 1, 2, 3, 4 }), kTries, kMinutes).until);
    const auto state = lockOutOf(failuresAt({ 1, 2, 3, 4, 5 }), kTries, kMinutes);
    EXPECT_EQ(state.failures, 5);
    ASSERT_TRUE(state.until);
    EXPECT_EQ(*state.until, minute(20));
    EXPECT_TRUE(state.locked(minute(19)));
    EXPECT_FALSE(state.locked(minute(20)));
}

TEST(LockOut, IsNotMadeLongerByTriesWhileItLasts)
{
    const auto state = lockOutOf(failuresAt({ 1, 2, 3, 4, 5, 6, 12, 19 }), kTries, kMinutes);
    EXPECT_EQ(state.failures, 5);
    EXPECT_EQ(*state.until, minute(20));
    EXPECT_EQ(*state.lastFailure, minute(5));
}

TEST(LockOut, ReturnsWithEveryFurtherFailure)
{
    const auto state = lockOutOf(failuresAt({ 1, 2, 3, 4, 5, 21 }), kTries, kMinutes);
    EXPECT_EQ(state.failures, 6);
    EXPECT_EQ(*state.until, minute(36)) << "one guess for each lock, not five";
}

TEST(LockOut, EndsWithComingInWithAnUnlockAndWithANewSecret)
{
    for (const auto what : { SecretEvent::What::CameIn, SecretEvent::What::Unlocked, SecretEvent::What::NewSecret }) {
        auto events = failuresAt({ 1, 2, 3, 4, 5 });
        events.push_back({ what, minute(6) });
        EXPECT_EQ(lockOutOf(events, kTries, kMinutes).failures, 0);
        events.push_back({ SecretEvent::What::Failed, minute(7) });
        const auto state = lockOutOf(events, kTries, kMinutes);
        EXPECT_EQ(state.failures, 1);
        EXPECT_FALSE(state.until);
    }
}

} // namespace mk::registry
