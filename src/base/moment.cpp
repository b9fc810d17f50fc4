// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/moment.h"

#include <charconv>
#include <cstdio>
#include <optional>

namespace mk::base {

namespace {

constexpr std::int64_t kMsPerMinute = 60'000;
constexpr std::int64_t kMsPerDay = 86'400'000;

/// A run of exactly `count` digits at `at`, or nothing.
std::optional<int> digitsAt(std::string_view text, std::size_t at, std::size_t count)
{
    if (at + count > text.size())
        return std::nullopt;
    int value = 0;
    for (const char c : text.substr(at, count)) {
        if (c < '0' || c > '9')
            return std::nullopt;
        value = value * 10 + (c - '0');
    }
    return value;
}

bool charAt(std::string_view text, std::size_t at, char wanted)
{
    return at < text.size() && text[at] == wanted;
}

std::optional<Date> dateFrom(std::optional<int> year, std::optional<int> month, std::optional<int> day)
{
    if (!year || !month || !day || *year < 1900 || *year > 2199)
        return std::nullopt;
    const std::chrono::year_month_day ymd { std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
        std::chrono::day(static_cast<unsigned>(*day)) };
    if (!ymd.ok())
        return std::nullopt;
    return Date { ymd };
}

std::optional<Date> dateAtStart(std::string_view text)
{
    if (!charAt(text, 4, '-') || !charAt(text, 7, '-'))
        return std::nullopt;
    return dateFrom(digitsAt(text, 0, 4), digitsAt(text, 5, 2), digitsAt(text, 8, 2));
}

std::string padded(int value, int width)
{
    char buffer[16];
    std::snprintf(buffer, sizeof buffer, "%0*d", width, value);
    return buffer;
}

std::int64_t epochDays(Date date)
{
    return std::chrono::sys_days(date.ymd).time_since_epoch().count();
}

/// Minutes of "Z" or "±HH:MM".
std::optional<int> offsetFrom(std::string_view text)
{
    if (text == "Z" || text == "z")
        return 0;
    if (text.size() != 6 || (text[0] != '+' && text[0] != '-') || text[3] != ':')
        return std::nullopt;
    const auto hours = digitsAt(text, 1, 2);
    const auto minutes = digitsAt(text, 4, 2);
    if (!hours || !minutes || *hours > 15 || *minutes > 59)
        return std::nullopt;
    const int total = *hours * 60 + *minutes;
    return text[0] == '-' ? -total : total;
}

} // namespace

Result<Date> parseDate(std::string_view text)
{
    const auto date = text.size() == 10 ? dateAtStart(text) : std::nullopt;
    if (!date)
        return badInput("'%1' is not a date; write it as 2026-11-18", text);
    return *date;
}

std::string toText(Date date)
{
    return padded(static_cast<int>(date.ymd.year()), 4) + '-' + padded(static_cast<int>(static_cast<unsigned>(date.ymd.month())), 2) + '-'
        + padded(static_cast<int>(static_cast<unsigned>(date.ymd.day())), 2);
}

Date addDays(Date date, int days)
{
    return { std::chrono::year_month_day(std::chrono::sys_days(date.ymd) + std::chrono::days(days)) };
}

Date addMonths(Date date, int months)
{
    const auto moved = date.ymd + std::chrono::months(months);
    return moved.ok() ? Date { moved } : lastDayOfMonth(static_cast<int>(moved.year()), static_cast<unsigned>(moved.month()));
}

Date lastDayOfMonth(int year, unsigned month)
{
    return { std::chrono::year_month_day(std::chrono::sys_days(std::chrono::year(year) / std::chrono::month(month) / std::chrono::last)) };
}

int daysBetween(Date from, Date to)
{
    return static_cast<int>(epochDays(to) - epochDays(from));
}

Result<PrintedDate> parsePrintedDate(std::string_view text)
{
    if (text.size() == 7 && text[4] == '-') {
        const auto first = dateFrom(digitsAt(text, 0, 4), digitsAt(text, 5, 2), 1);
        if (first)
            return PrintedDate { std::string(text),
                lastDayOfMonth(static_cast<int>(first->ymd.year()), static_cast<unsigned>(first->ymd.month())) };
    }
    const auto date = parseDate(text);
    if (!date)
        return badInput("'%1' is not an expiry date; write it as 2026-11-18, or 2026-11 for the last day of that month", text);
    return PrintedDate { std::string(text), *date };
}

Result<Period> parsePeriod(std::string_view text)
{
    const auto notAPeriod = [&] {
        return badInput("'%1' is not a period; write a number and d for days or m for months, such as 90 d", text);
    };
    int count = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
    std::string_view unit = text.substr(static_cast<std::size_t>(end - text.data()));
    while (!unit.empty() && unit.front() == ' ')
        unit.remove_prefix(1);
    if (error != std::errc() || count < 1 || count > 3660 || (unit != "d" && unit != "m"))
        return notAPeriod();
    return Period { count, unit == "d" ? Period::Unit::Days : Period::Unit::Months };
}

std::string toText(Period period)
{
    return std::to_string(period.count) + (period.unit == Period::Unit::Days ? " d" : " m");
}

Date lastUsableDay(Date opened, Period period)
{
    return period.unit == Period::Unit::Days ? addDays(opened, period.count) : addMonths(opened, period.count);
}

Result<TimeText> parseTimeText(std::string_view text)
{
    const auto notATime = [&] {
        return badInput("'%1' is not a time; write it as 2026-11-18T06:52, with an offset such as +01:00 where it is known", text);
    };
    const auto date = dateAtStart(text);
    const auto hour = digitsAt(text, 11, 2);
    const auto minute = digitsAt(text, 14, 2);
    if (!date || !(charAt(text, 10, 'T') || charAt(text, 10, ' ')) || !hour || !charAt(text, 13, ':') || !minute || *hour > 23
        || *minute > 59)
        return notATime();

    std::size_t at = 16;
    int ms = (*hour * 60 + *minute) * 60'000;
    if (charAt(text, at, ':')) {
        const auto second = digitsAt(text, at + 1, 2);
        if (!second || *second > 59)
            return notATime();
        ms += *second * 1000;
        at += 3;
        if (charAt(text, at, '.')) {
            const auto fraction = digitsAt(text, at + 1, 3);
            if (!fraction)
                return notATime();
            ms += *fraction;
            at += 4;
        }
    }
    TimeText time { { *date, ms }, false, 0 };
    if (at == text.size())
        return time;
    const auto offset = offsetFrom(text.substr(at));
    if (!offset)
        return notATime();
    time.hasOffset = true;
    time.offsetMinutes = *offset;
    return time;
}

Moment momentOf(WallTime wall, int offsetMinutes)
{
    return { epochDays(wall.date) * kMsPerDay + wall.millisecondOfDay - offsetMinutes * kMsPerMinute, offsetMinutes };
}

WallTime wallOf(Moment moment)
{
    const std::int64_t local = moment.utcMs + moment.offsetMinutes * kMsPerMinute;
    std::int64_t days = local / kMsPerDay;
    std::int64_t rest = local % kMsPerDay;
    if (rest < 0) {
        rest += kMsPerDay;
        --days;
    }
    return { { std::chrono::year_month_day(std::chrono::sys_days(std::chrono::days(days))) }, static_cast<int>(rest) };
}

Moment plusMs(Moment moment, std::int64_t ms)
{
    return { moment.utcMs + ms, moment.offsetMinutes };
}

std::string toText(Moment moment)
{
    const WallTime wall = wallOf(moment);
    const int seconds = wall.millisecondOfDay / 1000;
    std::string text = toText(wall.date) + 'T' + padded(seconds / 3600, 2) + ':' + padded(seconds / 60 % 60, 2) + ':'
        + padded(seconds % 60, 2);
    if (wall.millisecondOfDay % 1000 != 0)
        text += '.' + padded(wall.millisecondOfDay % 1000, 3);
    return text + offsetText(moment.offsetMinutes);
}

std::string offsetText(int offsetMinutes)
{
    const int size = offsetMinutes < 0 ? -offsetMinutes : offsetMinutes;
    return (offsetMinutes < 0 ? '-' : '+') + padded(size / 60, 2) + ':' + padded(size % 60, 2);
}

} // namespace mk::base
