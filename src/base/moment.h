// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <chrono>
#include <compare>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>

namespace mk::base {

/// A calendar day of the ward, without time or zone.
struct Date {
    std::chrono::year_month_day ymd {};

    friend auto operator<=>(const Date&, const Date&) = default;
};

/// input YYYY-MM-DD, a day that exists, year 1900 to 2199; errors BadInput
Result<Date> parseDate(std::string_view text);
std::string toText(Date date);
Date addDays(Date date, int days);
/// The same day number `months` later, clamped to that month's last day (handbook 2.4).
Date addMonths(Date date, int months);
Date lastDayOfMonth(int year, unsigned month);
int daysBetween(Date from, Date to);

/// An expiry as it is printed: YYYY-MM-DD, or YYYY-MM for the last day of that month.
struct PrintedDate {
    std::string typed;
    Date lastDay;

    friend bool operator==(const PrintedDate&, const PrintedDate&) = default;
};
Result<PrintedDate> parsePrintedDate(std::string_view text);

/// A length of time as a label gives it: a number of days or of calendar months. 3 months is not 90 days.
struct Period {
    enum class Unit { Days, Months };
    int count = 0;
    Unit unit = Unit::Days;

    friend bool operator==(const Period&, const Period&) = default;
};
/// input "90 d" or "3 m", count 1 to 3660; errors BadInput
Result<Period> parsePeriod(std::string_view text);
std::string toText(Period period);
/// Opening day is day 0; the day returned is the last usable one (handbook 2.4).
Date lastUsableDay(Date opened, Period period);

/// An instant, with the offset that the wall clock showed. Ordered by the instant alone.
struct Moment {
    std::int64_t utcMs = 0;
    int offsetMinutes = 0;

    friend bool operator==(const Moment& a, const Moment& b) { return a.utcMs == b.utcMs; }
    friend std::strong_ordering operator<=>(const Moment& a, const Moment& b) { return a.utcMs <=> b.utcMs; }
};

/// Before and after everything that is ever recorded; far enough from the bounds that a span may be added.
inline constexpr Moment kBeginningOfTime { std::numeric_limits<std::int64_t>::min() / 2, 0 };
inline constexpr Moment kEndOfTime { std::numeric_limits<std::int64_t>::max() / 2, 0 };

/// A date and time of day as a wall clock shows them, without zone.
struct WallTime {
    Date date;
    int millisecondOfDay = 0;
};

/// What a time text says: the wall time, and the offset in minutes where the text gives one.
struct TimeText {
    WallTime wall;
    bool hasOffset = false;
    int offsetMinutes = 0;
};

/// input   YYYY-MM-DDTHH:MM[:SS[.mmm]] with nothing, Z or ±HH:MM behind it (a space is accepted for the T)
/// errors  BadInput
Result<TimeText> parseTimeText(std::string_view text);

Moment momentOf(WallTime wall, int offsetMinutes);
WallTime wallOf(Moment moment);
Moment plusMs(Moment moment, std::int64_t ms);

/// ISO 8601 with offset, milliseconds only where there are any: 2026-10-25T02:30:00+02:00
std::string toText(Moment moment);
/// "+02:00"
std::string offsetText(int offsetMinutes);

} // namespace mk::base
