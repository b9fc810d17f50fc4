// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/moment.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::base {

namespace {

Date momentDay(const char* text)
{
    return parseDate(text).value();
}

std::string momentLastUsable(const char* opened, const char* period)
{
    return toText(lastUsableDay(momentDay(opened), parsePeriod(period).value()));
}

WallTime momentWall(const char* text)
{
    return parseTimeText(text).value().wall;
}

} // namespace

// Handbook 2.4, test vectors: opening day is day 0, months keep the day number or end with the month.
TEST(LastUsableDay, CountsDaysAndMonthsAsTheLabelSays)
{
    EXPECT_EQ(momentLastUsable("2027-12-01", "90 d"), "2028-02-29");
    EXPECT_EQ(momentLastUsable("2027-12-02", "90 d"), "2028-03-01");
    EXPECT_EQ(momentLastUsable("2026-08-31", "180 d"), "2027-02-27");
    EXPECT_EQ(momentLastUsable("2026-08-31", "6 m"), "2027-02-28");
    EXPECT_EQ(momentLastUsable("2027-11-30", "3 m"), "2028-02-29");
    EXPECT_EQ(momentLastUsable("2028-02-29", "90 d"), "2028-05-29");
}

TEST(LastUsableDay, GivesWayToAnEarlierPrintedExpiry)
{
    // Handbook 2.4: the effective expiry is the earlier of both.
    const auto effective = [](const char* printed, const char* opened) {
        return toText(std::min(parsePrintedDate(printed).value().lastDay, lastUsableDay(momentDay(opened), { 90, Period::Unit::Days })));
    };
    EXPECT_EQ(effective("2026-04-30", "2026-04-01"), "2026-04-30");
    EXPECT_EQ(effective("2026-12-31", "2026-04-01"), "2026-06-30");
}

TEST(PrintedDate, MeansTheLastDayOfItsMonthWithoutADay)
{
    EXPECT_EQ(toText(parsePrintedDate("2026-04").value().lastDay), "2026-04-30"); // handbook 2.4
    EXPECT_EQ(toText(parsePrintedDate("2028-02").value().lastDay), "2028-02-29");
    EXPECT_EQ(toText(parsePrintedDate("2026-02").value().lastDay), "2026-02-28");
    EXPECT_EQ(parsePrintedDate("2026-02").value().typed, "2026-02");
    EXPECT_EQ(toText(parsePrintedDate("2026-04-15").value().lastDay), "2026-04-15");
    for (const char* text : { "2026-00", "2026-13", "2026-4", "26-04", "04/2026", "2026-04-31", "" })
        EXPECT_FALSE(parsePrintedDate(text)) << text;
}

TEST(ParseDate, TakesDaysThatExistOnly)
{
    EXPECT_EQ(toText(momentDay("2028-02-29")), "2028-02-29");
    for (const char* text : { "2026-02-29", "2100-02-29", "2026-00-10", "2026-04-31", "1899-12-31", "2200-01-01", "2026-4-1", "2026-04-01 ",
             "2026/04/01", "20260401", "" })
        EXPECT_FALSE(parseDate(text)) << text;
    EXPECT_TRUE(parseDate("2000-02-29"));
}

TEST(AddDays, CrossesLeapDaysAndGoesBack)
{
    EXPECT_EQ(toText(addDays(momentDay("2028-02-28"), 1)), "2028-02-29");
    EXPECT_EQ(toText(addDays(momentDay("2028-03-01"), -1)), "2028-02-29");
    EXPECT_EQ(toText(addDays(momentDay("2026-12-31"), 1)), "2027-01-01");
    EXPECT_EQ(daysBetween(momentDay("2028-02-28"), momentDay("2028-03-01")), 2);
    EXPECT_EQ(daysBetween(momentDay("2027-01-01"), momentDay("2026-12-31")), -1);
}

TEST(AddMonths, KeepsTheDayNumberOrEndsWithTheMonth)
{
    EXPECT_EQ(toText(addMonths(momentDay("2026-01-31"), 1)), "2026-02-28");
    EXPECT_EQ(toText(addMonths(momentDay("2026-01-15"), 12)), "2027-01-15");
    EXPECT_EQ(toText(addMonths(momentDay("2026-11-30"), 15)), "2028-02-29");
    EXPECT_EQ(toText(lastDayOfMonth(2100, 2)), "2100-02-28");
}

TEST(ParsePeriod, NeedsANumberAndAUnit)
{
    EXPECT_EQ(parsePeriod("90 d").value(), (Period { 90, Period::Unit::Days }));
    EXPECT_EQ(parsePeriod("3m").value(), (Period { 3, Period::Unit::Months }));
    EXPECT_EQ(toText(Period { 3, Period::Unit::Months }), "3 m");
    for (const char* text : { "", "90", "d", "0 d", "-3 m", "3661 d", "3 w", "3 m.", "3 days", "1.5 m" })
        EXPECT_FALSE(parsePeriod(text)) << text;
}

TEST(ParseTimeText, ReadsWallTimeAndOffset)
{
    const TimeText time = parseTimeText("2026-10-25T02:30:15.250+02:00").value();
    EXPECT_EQ(toText(time.wall.date), "2026-10-25");
    EXPECT_EQ(time.wall.millisecondOfDay, ((2 * 60 + 30) * 60 + 15) * 1000 + 250);
    EXPECT_TRUE(time.hasOffset);
    EXPECT_EQ(time.offsetMinutes, 120);
    EXPECT_FALSE(parseTimeText("2026-11-18 06:52").value().hasOffset);
    EXPECT_EQ(parseTimeText("2026-11-18T06:52Z").value().offsetMinutes, 0);
    EXPECT_EQ(parseTimeText("2026-11-18T06:52-09:30").value().offsetMinutes, -570);
    for (const char* text : { "", "2026-11-18", "2026-11-18T24:00", "2026-11-18T06:60", "2026-11-18T6:52", "2026-11-18T06:52:60",
             "2026-11-18T06:52+2", "2026-11-18T06:52+16:00", "2026-11-18T06:52 ", "2026-02-30T06:52" })
        EXPECT_FALSE(parseTimeText(text)) << text;
}

TEST(Moment, IsTheSameInstantWhateverTheOffset)
{
    const Moment summer = momentOf(momentWall("2026-10-25T02:30"), 120);
    const Moment winter = momentOf(momentWall("2026-10-25T02:30"), 60);
    EXPECT_EQ(winter.utcMs - summer.utcMs, 3'600'000);
    EXPECT_LT(summer, winter);
    EXPECT_EQ(summer, momentOf(momentWall("2026-10-25T00:30"), 0));
    EXPECT_EQ(momentOf(momentWall("1970-01-01T00:00"), 0).utcMs, 0);
}

TEST(Moment, ReturnsTheTextItWasReadFrom)
{
    for (const char* text : { "2026-10-25T02:30:00+02:00", "2028-02-29T23:59:59.999-05:30", "1965-03-01T00:00:00+00:00" }) {
        const TimeText time = parseTimeText(text).value();
        EXPECT_EQ(toText(momentOf(time.wall, time.offsetMinutes)), text);
    }
    EXPECT_EQ(toText(plusMs(momentOf(momentWall("2026-12-31T23:59:59"), 60), 1000)), "2027-01-01T00:00:00+01:00");
    EXPECT_EQ(offsetText(-30), "-00:30");
}

} // namespace mk::base
