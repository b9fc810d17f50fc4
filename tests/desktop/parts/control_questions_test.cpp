// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/control_questions.h"

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

using registry::Level;

SheetLevel aLevel(Level level, const char* low, const char* high)
{
    registry::acts::RangeAssigned range;
    range.level = level;
    range.low = *base::Decimal::parse(low);
    range.high = *base::Decimal::parse(high);
    SheetLevel sheet;
    sheet.level = level;
    sheet.range = registry::RangeRecord { {}, range };
    return sheet;
}

registry::Reading number(const char* typed)
{
    return *base::Decimal::parse(typed);
}

QValidator::State stateOf(QString text)
{
    int position = 0;
    return ReadingValidator().validate(text, position);
}

/// Ranges of handbook 16, common ground: low 48 to 72, high 255 to 345; story S11 asks at 61 on high.
const std::vector<SheetLevel>& levels()
{
    static const std::vector<SheetLevel> kLevels { aLevel(Level::Low, "48", "72"), aLevel(Level::High, "255", "345") };
    return kLevels;
}

TEST(LevelQuestion, AsksForALowValueOnTheHighLevel)
{
    EXPECT_EQ(otherLevelOf(number("61"), Level::High, levels()), Level::Low);
    EXPECT_EQ(otherLevelOf(number("300"), Level::Low, levels()), Level::High);
}

TEST(LevelQuestion, TakesTheEndsOfTheOtherRange)
{
    EXPECT_EQ(otherLevelOf(number("72"), Level::High, levels()), Level::Low);
    EXPECT_EQ(otherLevelOf(number("72.1"), Level::High, levels()), std::nullopt);
}

TEST(LevelQuestion, IsSilentOnAnOrdinaryFailure)
{
    EXPECT_EQ(otherLevelOf(number("362"), Level::High, levels()), std::nullopt); // above, and in no other range
    EXPECT_EQ(otherLevelOf(number("78"), Level::Low, levels()), std::nullopt);
    EXPECT_EQ(otherLevelOf(registry::High {}, Level::Low, levels()), std::nullopt); // HI is no number
}

TEST(LevelQuestion, NeedsFarOutside)
{
    const std::vector<SheetLevel> near { aLevel(Level::Low, "48", "72"), aLevel(Level::Normal, "73", "100") };
    EXPECT_EQ(otherLevelOf(number("75"), Level::Low, near), std::nullopt);
    EXPECT_EQ(otherLevelOf(number("97"), Level::Low, near), Level::Normal); // 25 beyond 72, more than the width of 24
}

struct UnitCase {
    base::GlucoseUnit unit;
    const char* typed;
    bool asked;
};
class UnitQuestion : public ::testing::TestWithParam<UnitCase> { };

/// source: handbook 10.4, Plausibility
TEST_P(UnitQuestion, FollowsTheHandbook)
{
    EXPECT_EQ(unlikelyIn(GetParam().unit, number(GetParam().typed)), GetParam().asked) << GetParam().typed;
}
INSTANTIATE_TEST_SUITE_P(Handbook, UnitQuestion,
    ::testing::Values(UnitCase { base::GlucoseUnit::MgPerDl, "3.4", true }, UnitCase { base::GlucoseUnit::MgPerDl, "9", true },
        UnitCase { base::GlucoseUnit::MgPerDl, "10", false }, UnitCase { base::GlucoseUnit::MgPerDl, "300", false },
        UnitCase { base::GlucoseUnit::MmolPerL, "5.6", false }, UnitCase { base::GlucoseUnit::MmolPerL, "47", true },
        UnitCase { base::GlucoseUnit::MmolPerL, "6", true }, UnitCase { base::GlucoseUnit::MmolPerL, "40.1", true }));

TEST(TypedReading, KeepsTheDigitsAsTyped)
{
    const auto read = readTyped(QStringLiteral("6,20"));
    ASSERT_TRUE(read);
    EXPECT_EQ(std::get<base::Decimal>(*read).typed(), "6.20");
}

TEST(TypedReading, TellsWordsAndCodesFromNumbers)
{
    EXPECT_TRUE(std::holds_alternative<registry::High>(*readTyped(QStringLiteral("hi"))));
    EXPECT_TRUE(std::holds_alternative<registry::Low>(*readTyped(QStringLiteral("LO"))));
    EXPECT_EQ(std::get<registry::ErrorCode>(*readTyped(QStringLiteral("e-4"))).code, "E-4");
    EXPECT_EQ(std::get<registry::ErrorCode>(*readTyped(QStringLiteral("ERR:7"))).code, "7");
    EXPECT_FALSE(readTyped(QString()));
    EXPECT_FALSE(readTyped(QStringLiteral("4 7")));
}

TEST(ReadingValidator, LetsThroughWhatCanBecomeAResult)
{
    EXPECT_EQ(stateOf(QStringLiteral("47")), QValidator::Acceptable);
    EXPECT_EQ(stateOf(QStringLiteral("5,6")), QValidator::Acceptable);
    EXPECT_EQ(stateOf(QStringLiteral("hi")), QValidator::Acceptable);
    EXPECT_EQ(stateOf(QStringLiteral("e-4")), QValidator::Acceptable);
    EXPECT_EQ(stateOf(QStringLiteral("5.")), QValidator::Intermediate);
    EXPECT_EQ(stateOf(QStringLiteral("h")), QValidator::Intermediate);
    EXPECT_EQ(stateOf(QString()), QValidator::Intermediate);
    EXPECT_EQ(stateOf(QStringLiteral("-4")), QValidator::Invalid);
    EXPECT_EQ(stateOf(QStringLiteral("4e2")), QValidator::Invalid);
    EXPECT_EQ(stateOf(QStringLiteral("5.6.1")), QValidator::Invalid);
}

TEST(SetName, SaysMeterAndMinute)
{
    const auto berlin = registry::Zone::named("Europe/Berlin");
    ASSERT_TRUE(berlin);
    const base::Moment at = base::momentOf(base::parseTimeText("2026-11-18T05:47:31")->wall, 0);
    EXPECT_EQ(newSetId(base::MeterId("M-11"), at, *berlin).value, "M-11/2026-11-18T0647");
}

} // namespace
} // namespace mk::desktop
