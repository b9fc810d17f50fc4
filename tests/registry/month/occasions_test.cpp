// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/occasions.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using base::Date;
using base::Moment;
using reference::ReferenceTable;

constexpr std::int64_t kHour = 3'600'000;

Moment wallMoment(const std::string& text)
{
    return base::momentOf(base::parseTimeText(text).value().wall, 0);
}

Policy clearanceOf(int hours)
{
    Policy policy = defaultPolicy();
    policy.clearanceHours = hours;
    return policy;
}

/// September 2026, in service since May, looked at after its end.
OccasionInput september()
{
    OccasionInput input;
    input.first = base::parseDate("2026-09-01").value();
    input.last = base::parseDate("2026-09-30").value();
    input.cutOff = wallMoment("2026-10-07T12:00");
    input.known = wallMoment("2026-07-23T00:00");
    input.service = { { wallMoment("2026-05-01T00:00"), input.cutOff } };
    return input;
}

ClearingSet setAt(const std::string& at, int hours = 24, bool accepted = true)
{
    const Moment moment = wallMoment(at);
    return { moment, moment, base::plusMs(moment, hours * kHour), accepted };
}

OccasionInput septemberWith(std::initializer_list<const char*> accepted, int hours = 24)
{
    OccasionInput input = september();
    for (const char* at : accepted)
        input.sets.push_back(setAt(at, hours));
    return input;
}

/// The word of each occasion of some day, in order.
std::string occasionsOn(const MonthOccasions& occasions, const std::string& day)
{
    std::string words;
    for (const auto& each : occasions.days)
        if (base::toText(each.day) == day)
            words += (words.empty() ? "" : " ") + std::string(word(each.what));
    return words;
}

std::size_t countOf(const MonthOccasions& occasions, Occasion what)
{
    return static_cast<std::size_t>(std::ranges::count(occasions.days, what, &OccasionDay::what));
}

MonthOccasions counted(const OccasionInput& input, const Policy& policy = defaultPolicy())
{
    return occasionsOf(input, policy, Zone::utc());
}

class ComplianceVector : public testing::TestWithParam<const char*> { };

TEST_P(ComplianceVector, EveryDayIsThatOfTheReference)
{
    const std::string name = std::string("drift/compliance-") + GetParam();
    OccasionInput input = september();
    const ReferenceTable sets(name + ".csv"), expected(name + ".expected.csv");
    for (std::size_t row = 0; row < sets.size(); ++row)
        input.sets.push_back(setAt(sets.text(row, "accepted_at")));
    const MonthOccasions occasions = counted(input);
    ASSERT_EQ(occasions.days.size(), expected.size());
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const OccasionDay& day = occasions.days[row];
        EXPECT_EQ(base::toText(day.day), expected.text(row, "day"));
        EXPECT_EQ(word(day.what), expected.text(row, "occasion")) << base::toText(day.day);
        if (day.what == Occasion::Late) {
            EXPECT_EQ(std::to_string(day.lateMinutes), expected.text(row, "late_minutes"));
        }
    }
}

TEST_P(ComplianceVector, TheSumsAreThoseOfTheReference)
{
    const ReferenceTable sums("drift/compliance-summary.csv");
    OccasionInput input = september();
    const ReferenceTable sets(std::string("drift/compliance-") + GetParam() + ".csv");
    for (std::size_t row = 0; row < sets.size(); ++row)
        input.sets.push_back(setAt(sets.text(row, "accepted_at")));
    const MonthOccasions occasions = counted(input);
    std::size_t row = 0;
    while (sums.text(row, "case") != GetParam())
        ++row;
    const std::size_t open = countOf(occasions, Occasion::Open);
    EXPECT_EQ(occasions.days.size(), static_cast<std::size_t>(sums.number(row, "required")));
    EXPECT_EQ(countOf(occasions, Occasion::Met), static_cast<std::size_t>(sums.number(row, "met")));
    EXPECT_EQ(countOf(occasions, Occasion::Late), static_cast<std::size_t>(sums.number(row, "late")));
    EXPECT_EQ(countOf(occasions, Occasion::Missed), static_cast<std::size_t>(sums.number(row, "missed")));
    EXPECT_EQ(countOf(occasions, Occasion::Excused), static_cast<std::size_t>(sums.number(row, "excused")));
    EXPECT_EQ(open, static_cast<std::size_t>(sums.number(row, "open")));
    EXPECT_DOUBLE_EQ(*percentOf(countOf(occasions, Occasion::Met), occasions.days.size() - open), sums.number(row, "percent"));
    EXPECT_NEAR(occasions.notCleared.hours(), sums.number(row, "hours_not_cleared"), 0.0051);
    EXPECT_NEAR(occasions.notCleared.longestHours(), sums.number(row, "longest_h"), 0.0051);
}

INSTANTIATE_TEST_SUITE_P(Handbook, ComplianceVector,
    testing::Values("routine-one-left-out", "two-left-out-in-a-row", "around-midnight", "some-at-14"), [](const auto& name) {
        std::string word = name.param;
        std::ranges::replace(word, '-', '_');
        return word;
    });

TEST(Percent, IsRoundedHalfUpAndHundredOnlyWhereNothingIsMissing)
{
    EXPECT_FALSE(percentOf(0, 0));
    EXPECT_DOUBLE_EQ(*percentOf(29, 30), 96.7);
    EXPECT_DOUBLE_EQ(*percentOf(1, 16), 6.3) << "6.25";
    EXPECT_DOUBLE_EQ(*percentOf(9999, 10000), 99.9);
    EXPECT_DOUBLE_EQ(*percentOf(10000, 10000), 100.0);
}

TEST(DailyOccasions, AFailedControlEndsTheClearanceAndIsNotInTime)
{
    auto input = septemberWith({ "2026-09-15T05:15", "2026-09-16T14:08" });
    input.sets.insert(input.sets.begin() + 1, setAt("2026-09-16T05:13", 24, false));
    input.service = { { wallMoment("2026-05-01T00:00"), wallMoment("2026-09-16T05:13") },
        { wallMoment("2026-09-16T14:08"), input.cutOff } };
    const auto occasions = counted(input);
    EXPECT_EQ(occasionsOn(occasions, "2026-09-16"), "late");
    EXPECT_EQ(occasions.days.at(15).lateMinutes, 535);
}

TEST(DailyOccasions, ARepeatWithinTheToleranceIsInTime)
{
    auto input = septemberWith({ "2026-09-15T05:15", "2026-09-16T05:40" });
    input.sets.insert(input.sets.begin() + 1, setAt("2026-09-16T05:13", 24, false));
    EXPECT_EQ(occasionsOn(counted(input), "2026-09-16"), "met");
}

TEST(DailyOccasions, ExactlyTheToleranceIsInTime)
{
    EXPECT_EQ(occasionsOn(counted(septemberWith({ "2026-09-01T06:00", "2026-09-02T08:00" })), "2026-09-02"), "met");
    EXPECT_EQ(occasionsOn(counted(septemberWith({ "2026-09-01T06:00", "2026-09-02T08:01" })), "2026-09-02"), "late");
    Policy strict = defaultPolicy();
    strict.occasionTolerance.minutes = 0;
    EXPECT_EQ(occasionsOn(counted(septemberWith({ "2026-09-01T06:00", "2026-09-02T06:00" }), strict), "2026-09-02"), "met");
    EXPECT_EQ(occasionsOn(counted(septemberWith({ "2026-09-01T06:00", "2026-09-02T06:01" }), strict), "2026-09-02"), "late");
}

TEST(DailyOccasions, NotLateWhereTheClearanceEndedOutOfService)
{
    auto input = septemberWith({ "2026-09-01T06:00", "2026-09-02T15:00" });
    input.service = { { wallMoment("2026-05-01T00:00"), wallMoment("2026-09-01T20:00") },
        { wallMoment("2026-09-02T14:00"), input.cutOff } };
    EXPECT_EQ(occasionsOn(counted(input), "2026-09-02"), "met");
    EXPECT_NEAR(counted(input).notCleared.longestHours(), 24 * 28 - 15 + 24 - 24, 24) << "nothing is owed while it is out";
}

TEST(DailyOccasions, ADayDeclaredUnusedIsExcusedAndOwesNoClearance)
{
    auto input = septemberWith({ "2026-09-04T06:00", "2026-09-07T07:00" });
    input.cutOff = wallMoment("2026-09-07T08:00");
    input.service.back().to = input.cutOff;
    input.known = input.first == Date() ? input.known : wallMoment("2026-09-04T00:00");
    input.service.front().from = wallMoment("2026-09-04T00:00");
    input.unused = { { base::parseDate("2026-09-05").value(), false }, { base::parseDate("2026-09-06").value(), true } };
    const auto occasions = counted(input);
    EXPECT_EQ(occasionsOn(occasions, "2026-09-05"), "excused");
    EXPECT_EQ(occasionsOn(occasions, "2026-09-06"), "excused-afterwards");
    EXPECT_EQ(occasionsOn(occasions, "2026-09-07"), "met");
    EXPECT_DOUBLE_EQ(occasions.notCleared.hours(), 6 + 7) << "Friday until 6, Monday until 7";
    EXPECT_DOUBLE_EQ(occasions.notCleared.longestHours(), 7);
    EXPECT_DOUBLE_EQ(*occasions.notCleared.percent(), 16.3) << "13 of 80 hours in service";
}

TEST(DailyOccasions, ADayIsOpenAsLongAsItCanBeMet)
{
    const auto wordAt = [](const char* cutOff, const char* day) {
        auto input = septemberWith({ "2026-09-01T06:00", "2026-09-02T23:30" });
        if (std::string(cutOff) < "2026-09-02T23:30")
            input.sets.pop_back();
        input.cutOff = wallMoment(cutOff);
        input.service.back().to = input.cutOff;
        return occasionsOn(counted(input), day);
    };
    EXPECT_EQ(wordAt("2026-09-02T07:59", "2026-09-02"), "open");
    EXPECT_EQ(wordAt("2026-09-02T08:00", "2026-09-02"), "missed") << "late, or missed: never in time any more";
    EXPECT_EQ(wordAt("2026-09-04T01:00", "2026-09-03"), "open") << "around midnight";
    EXPECT_EQ(wordAt("2026-09-04T01:30", "2026-09-03"), "missed");
    EXPECT_EQ(wordAt("2026-09-02T07:59", "2026-09-03"), "") << "not begun";
}

TEST(DailyOccasions, AControlThatSomethingAskedForIsAnOccasionOfItsOwn)
{
    auto input = septemberWith({ "2026-09-01T06:00", "2026-09-01T15:00", "2026-09-02T06:00", "2026-09-02T16:00", "2026-09-03T06:00" });
    input.sets[1].triggered = true;
    EXPECT_EQ(counted(input).eventDriven, 1u) << "the second one of the second day answers nothing";
    input.cancelled = { wallMoment("2026-09-02T13:00") };
    EXPECT_EQ(counted(input).eventDriven, 2u);
    input.cancelled = { wallMoment("2026-09-02T17:00") };
    EXPECT_EQ(counted(input).eventDriven, 1u) << "answered by the next routine one: never counted twice";
    input.sets[4].triggered = true;
    EXPECT_EQ(counted(input).eventDriven, 1u);
}

TEST(DailyOccasions, WhatTakesTheClearanceLeavesTheMeterNotCleared)
{
    auto input = septemberWith({ "2026-09-03T07:00", "2026-09-04T07:00" });
    input.service.front().from = wallMoment("2026-09-03T07:00");
    input.cutOff = wallMoment("2026-09-04T12:00");
    input.service.back().to = input.cutOff;
    input.cancelled = { wallMoment("2026-09-03T15:00") };
    EXPECT_DOUBLE_EQ(counted(input).notCleared.hours(), 16);
}

TEST(EndOccasions, EachEndOfAWeekIsOneAndTheDelayIsCutByWholeWeeks)
{
    const Policy week = clearanceOf(168);
    // Ends on Tuesday 8, then 15 September; the tolerance is 14 hours.
    const auto inTime = counted(septemberWith({ "2026-09-01T06:00", "2026-09-08T20:00" }, 168), week);
    EXPECT_EQ(occasionsOn(inTime, "2026-09-08"), "met");
    const auto late = counted(septemberWith({ "2026-09-01T06:00", "2026-09-08T21:00" }, 168), week);
    EXPECT_EQ(occasionsOn(late, "2026-09-08"), "late");
    const auto missed = counted(septemberWith({ "2026-09-01T06:00", "2026-09-14T16:00" }, 168), week);
    EXPECT_EQ(occasionsOn(missed, "2026-09-08"), "missed") << "the 14 h of tolerance before the next end";
    EXPECT_EQ(occasionsOn(missed, "2026-09-15"), "met");
    const auto two = counted(septemberWith({ "2026-09-01T06:00", "2026-09-17T06:00" }, 168), week);
    EXPECT_EQ(occasionsOn(two, "2026-09-08"), "missed");
    EXPECT_EQ(occasionsOn(two, "2026-09-15"), "late") << "two days are left of the delay";
}

TEST(EndOccasions, TwoSetsWithinOneClearanceAreOneOccasion)
{
    auto input = septemberWith({ "2026-08-31T19:00", "2026-09-01T07:00", "2026-09-01T08:00", "2026-09-01T19:30" }, 12);
    input.cutOff = wallMoment("2026-09-01T21:00");
    input.service.back().to = input.cutOff;
    EXPECT_EQ(occasionsOn(counted(input, clearanceOf(12)), "2026-09-01"), "met met");
}

TEST(EndOccasions, TheFirstOneOfANewMeterIsMetAndOneThatIsNeverControlledMisses)
{
    auto input = septemberWith({ "2026-09-04T10:00" }, 168);
    input.service.front().from = wallMoment("2026-09-02T08:00");
    auto occasions = counted(input, clearanceOf(168));
    EXPECT_EQ(occasionsOn(occasions, "2026-09-04"), "met");
    EXPECT_EQ(occasionsOn(occasions, "2026-09-11"), "missed");
    input.sets.clear();
    occasions = counted(input, clearanceOf(168));
    EXPECT_EQ(countOf(occasions, Occasion::Met), 0u);
    EXPECT_EQ(countOf(occasions, Occasion::Missed), 4u) << "9, 16, 23 and 30 September";
}

TEST(EndOccasions, AnEndOutOfServiceOrOnAnUnusedDayIsNotOwed)
{
    auto input = septemberWith({ "2026-09-01T06:00", "2026-09-20T06:00" }, 168);
    input.service = { { wallMoment("2026-05-01T00:00"), wallMoment("2026-09-05T00:00") },
        { wallMoment("2026-09-10T00:00"), input.cutOff } };
    input.unused = { { base::parseDate("2026-09-15").value(), false } };
    const auto occasions = counted(input, clearanceOf(168));
    EXPECT_EQ(occasionsOn(occasions, "2026-09-08"), "");
    EXPECT_EQ(occasionsOn(occasions, "2026-09-15"), "excused");
    input.cutOff = wallMoment("2026-09-27T10:00");
    input.service.back().to = input.cutOff;
    EXPECT_EQ(occasionsOn(counted(input, clearanceOf(168)), "2026-09-27"), "open");
}

TEST(BoxOccasions, ASetInTheLaboratoryDayOrTheShiftIsMetAndNothingIsLate)
{
    Policy calendar = defaultPolicy();
    calendar.clearance = Policy::Clearance::Calendar;
    calendar.dayBoundaryMinutes = 7 * 60;
    auto occasions = counted(septemberWith({ "2026-09-01T07:00", "2026-09-03T06:59" }), calendar);
    EXPECT_EQ(occasionsOn(occasions, "2026-09-01"), "met");
    EXPECT_EQ(occasionsOn(occasions, "2026-09-02"), "met") << "the day that ends at 7";
    EXPECT_EQ(occasionsOn(occasions, "2026-09-03"), "missed");
    EXPECT_EQ(countOf(occasions, Occasion::Late), 0u);
    Policy shifts = defaultPolicy();
    shifts.shiftBoundaryMinutes = { 6 * 60, 14 * 60, 22 * 60 };
    occasions = counted(septemberWith({ "2026-09-01T13:59", "2026-09-01T22:00" }), shifts);
    EXPECT_EQ(occasionsOn(occasions, "2026-09-01"), "met missed met");
    EXPECT_EQ(occasions.days.size(), 90u);
}

} // namespace
} // namespace mk::registry
