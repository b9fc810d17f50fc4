// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/typed_reading.h"

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

QValidator::State stateOf(QString text)
{
    int position = 0;
    return ReadingValidator().validate(text, position);
}

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
