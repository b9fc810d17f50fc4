// SPDX-License-Identifier: GPL-3.0-or-later
// Vectors of handbook 10.2, zone with European rules.
#include "registry/terms/zone.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using sample::berlin;

Policy calendarPolicy(const std::string& boundary)
{
    const std::vector<std::pair<std::string, std::string>> settings { { "clearance", "calendar" }, { "day_boundary", boundary } };
    return policyFrom(settings).value();
}

std::string clearedFrom(std::string_view time, const Policy& policy)
{
    return base::toText(clearedUntil(at(time), policy, berlin()));
}

base::WallTime wall(const char* date, int hour, int minute)
{
    return { base::parseDate(date).value(), (hour * 60 + minute) * 60'000 };
}

} // namespace

TEST(ClearedUntil, ElapsedHoursAcrossTheSpringChange)
{
    EXPECT_EQ(clearedFrom("2026-03-28T22:30", defaultPolicy()), "2026-03-29T23:30:00+02:00");
}

TEST(ClearedUntil, ElapsedHoursAcrossTheAutumnChange)
{
    EXPECT_EQ(clearedFrom("2026-10-24T22:30", defaultPolicy()), "2026-10-25T21:30:00+01:00");
}

TEST(ClearedUntil, CalendarRuleEndsAtTheNextBoundary)
{
    // Story S23: accepted at 23:50.
    EXPECT_EQ(clearedFrom("2026-05-04T23:50", defaultPolicy()), "2026-05-05T23:50:00+02:00");
    EXPECT_EQ(clearedFrom("2026-05-04T23:50", calendarPolicy("00:00")), "2026-05-05T00:00:00+02:00");
    EXPECT_EQ(clearedFrom("2026-05-04T23:50", calendarPolicy("07:00")), "2026-05-05T07:00:00+02:00");
    EXPECT_EQ(clearedFrom("2026-05-04T06:00", calendarPolicy("07:00")), "2026-05-04T07:00:00+02:00");
    EXPECT_EQ(clearedFrom("2026-05-04T07:00", calendarPolicy("07:00")), "2026-05-05T07:00:00+02:00")
        << "at the boundary the new day has begun";
}

TEST(ClearedUntil, TheCalendarDayHasTwentyThreeOrTwentyFiveHours)
{
    EXPECT_EQ(clearedFrom("2026-03-29T00:00", calendarPolicy("00:00")), "2026-03-30T00:00:00+02:00");
    EXPECT_EQ(clearedFrom("2026-10-25T00:00", calendarPolicy("00:00")), "2026-10-26T00:00:00+01:00");
    EXPECT_EQ(clearedUntil(at("2026-03-29T00:00"), calendarPolicy("00:00"), berlin()).utcMs - at("2026-03-29T00:00").utcMs, 23 * 3'600'000);
    EXPECT_EQ(clearedUntil(at("2026-10-25T00:00"), calendarPolicy("00:00"), berlin()).utcMs - at("2026-10-25T00:00").utcMs, 25 * 3'600'000);
}

TEST(ZoneResolve, AnHourThatHappensTwice)
{
    const auto twice = berlin().resolve(wall("2026-10-25", 2, 30));
    EXPECT_EQ(twice.kind, Zone::Kind::Twice);
    EXPECT_EQ(base::toText(twice.first), "2026-10-25T02:30:00+02:00");  // 00:30Z
    EXPECT_EQ(base::toText(twice.second), "2026-10-25T02:30:00+01:00"); // 01:30Z
    EXPECT_EQ(berlin().resolve(wall("2026-10-25", 1, 59)).kind, Zone::Kind::Unique);
    EXPECT_EQ(berlin().resolve(wall("2026-10-25", 3, 0)).kind, Zone::Kind::Unique);
}

TEST(ZoneResolve, AnHourThatNeverHappens)
{
    EXPECT_EQ(berlin().resolve(wall("2026-03-29", 2, 30)).kind, Zone::Kind::Never);
    EXPECT_EQ(berlin().resolve(wall("2026-03-29", 1, 59)).kind, Zone::Kind::Unique);
    EXPECT_EQ(berlin().resolve(wall("2026-03-29", 3, 0)).kind, Zone::Kind::Unique);
}

TEST(Zone, DaysAreThoseOfTheWard)
{
    EXPECT_EQ(base::toText(berlin().dateOf({ at("2026-05-04T00:30").utcMs, 0 })), "2026-05-04") << "22:30Z of the day before";
    EXPECT_EQ(base::toText(berlin().startOf(base::parseDate("2026-05-04").value())), "2026-05-04T00:00:00+02:00");
    EXPECT_EQ(base::toText(berlin().endOf(base::parseDate("2026-10-25").value())), "2026-10-26T00:00:00+01:00");
}

TEST(Zone, RefusesANameThatTheMachineDoesNotKnow)
{
    EXPECT_FALSE(Zone::named("Europe/Nowhere"));
    EXPECT_FALSE(Zone::named(""));
}

} // namespace mk::registry
