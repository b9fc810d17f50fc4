// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_score.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

namespace {

base::Decimal scoreDecimal(const char* typed)
{
    return base::Decimal::parse(typed).value();
}

ControlScore scoreOf(const char* value, const char* mean, const char* sd)
{
    return ControlScore::of(scoreDecimal(value), scoreDecimal(mean), scoreDecimal(sd)).value();
}

ControlScore scoreOfZ(const char* z)
{
    return ControlScore::ofZ(scoreDecimal(z));
}

} // namespace

TEST(ControlScore, IsNotTrappedByBinaryFractions)
{
    // Handbook 6.3: as doubles (6.2 - 5.6) / 0.3 is 2.0000000000000018.
    ASSERT_GT((6.2 - 5.6) / 0.3, 2.0);
    const ControlScore score = scoreOf("6.2", "5.6", "0.3");
    EXPECT_FALSE(score.beyond(2, 1, OnLimit::In));
    EXPECT_TRUE(score.beyond(2, 1, OnLimit::Out));
    EXPECT_EQ(score.z(), 2.0);
}

TEST(ControlScore, DecidesTheSameHoweverManyZerosWereTyped)
{
    const ControlScore score = scoreOf("6.20", "5.600", "0.3");
    EXPECT_FALSE(score.beyond(2, 1, OnLimit::In));
    EXPECT_TRUE(scoreOf("6.21", "5.600", "0.3").beyond(2, 1, OnLimit::In));
}

TEST(ControlScore, AgreesWithWholeNumbersOnEveryStepOfAMeter)
{
    // 0.1 mmol/L steps, mean 5.6, SD 0.3: beyond 2 SD is more than 6 steps away, counted in whole steps.
    for (int steps = 0; steps <= 112; ++steps) {
        const std::string value = std::to_string(steps / 10) + '.' + std::to_string(steps % 10);
        const ControlScore score = scoreOf(value.c_str(), "5.6", "0.3");
        for (int limit = 0; limit <= 3; ++limit) {
            EXPECT_EQ(score.beyond(limit, 1, OnLimit::In), steps - 56 > 3 * limit) << value << " above " << limit;
            EXPECT_EQ(score.beyond(limit, -1, OnLimit::In), 56 - steps > 3 * limit) << value << " below " << limit;
        }
    }
}

TEST(ControlScore, NeedsAnSdAboveZero)
{
    EXPECT_FALSE(ControlScore::of(scoreDecimal("5.6"), scoreDecimal("5.6"), scoreDecimal("0.00")));
    EXPECT_FALSE(ControlScore::of(scoreDecimal("5.6"), scoreDecimal("5.6"), scoreDecimal("-0.3")));
}

TEST(ControlScore, IsOnNoSideExactlyOnTheMean)
{
    EXPECT_EQ(scoreOf("5.60", "5.6", "0.3").side(), 0);
    EXPECT_FALSE(scoreOf("5.60", "5.6", "0.3").beyond(0, 1, OnLimit::Out));
    EXPECT_FALSE(scoreOf("5.60", "5.6", "0.3").beyond(0, -1, OnLimit::Out));
    EXPECT_EQ(scoreOf("5.600000001", "5.6", "0.3").side(), 1);
    EXPECT_EQ(scoreOfZ("-0.000000001").side(), -1);
    EXPECT_EQ(scoreOfZ("-0.0").side(), 0);
    EXPECT_EQ(ControlScore::ofZ(-0.0).side(), 0);
}

TEST(ControlScore, TakesADoubleAsItIs)
{
    EXPECT_FALSE(ControlScore::ofZ(2.0).beyond(2, 1, OnLimit::In));
    EXPECT_TRUE(ControlScore::ofZ(std::nextafter(2.0, 3.0)).beyond(2, 1, OnLimit::In));
    EXPECT_TRUE(ControlScore::ofZ(-2.0).beyond(2, -1, OnLimit::Out));
    EXPECT_FALSE(ControlScore::ofZ(-2.5).beyond(2, 1, OnLimit::In));
}

TEST(ControlScore, PutsHiAndLoBeyondEveryLimitOnTheirSideOnly)
{
    EXPECT_FALSE(ControlScore::aboveAll().isNumber());
    EXPECT_TRUE(ControlScore::aboveAll().beyond(1000, 1, OnLimit::In));
    EXPECT_FALSE(ControlScore::aboveAll().beyond(1, -1, OnLimit::In));
    EXPECT_EQ(ControlScore::belowAll().side(), -1);
    EXPECT_EQ(ControlScore::belowAll().z(), -std::numeric_limits<double>::infinity());
    EXPECT_TRUE(ControlScore::higher(ControlScore::aboveAll(), scoreOfZ("9")));
    EXPECT_FALSE(ControlScore::higher(ControlScore::aboveAll(), ControlScore::aboveAll()));
}

TEST(ControlScore, ComparesDifferencesAcrossTargetsExactly)
{
    // (6.2 - 5.6) / 0.3 = 2 and (272 - 300) / 14 = -2: exactly 4 apart.
    const ControlScore high = scoreOf("6.2", "5.6", "0.3");
    const ControlScore low = scoreOf("272", "300", "14");
    EXPECT_FALSE(ControlScore::differByMoreThan(high, low, 4, OnLimit::In));
    EXPECT_FALSE(ControlScore::differByMoreThan(low, high, 4, OnLimit::In));
    EXPECT_TRUE(ControlScore::differByMoreThan(high, low, 4, OnLimit::Out));
    EXPECT_TRUE(ControlScore::differByMoreThan(high, scoreOf("271", "300", "14"), 4, OnLimit::In));
    EXPECT_TRUE(ControlScore::differByMoreThan(ControlScore::aboveAll(), ControlScore::belowAll(), 4, OnLimit::In));
    EXPECT_FALSE(ControlScore::differByMoreThan(ControlScore::aboveAll(), ControlScore::aboveAll(), 4, OnLimit::In));
}

TEST(ControlScore, FallsBackToDoublesWhereDigitsDoNotFit)
{
    const ControlScore huge = scoreOf("999999999999999", "0.000000001", "0.333333333");
    const ControlScore other = scoreOf("-999999999999999", "0.000000001", "0.333333334");
    EXPECT_TRUE(huge.beyond(3, 1, OnLimit::In));
    EXPECT_TRUE(ControlScore::differByMoreThan(huge, other, 4, OnLimit::In));
    EXPECT_TRUE(ControlScore::higher(huge, other));
}

} // namespace mk::stats
