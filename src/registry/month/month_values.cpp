// SPDX-License-Identifier: GPL-3.0-or-later
// Months as people write them.
#include "registry/month/month.h"

#include <charconv>
namespace mk::registry {

base::Result<Month> parseMonth(std::string_view text)
{
    Month month;
    const bool shaped = text.size() == 7 && text[4] == '-';
    const auto year = shaped ? std::from_chars(text.data(), text.data() + 4, month.year)
                             : std::from_chars_result { text.data(), std::errc::invalid_argument };
    const auto part = shaped ? std::from_chars(text.data() + 5, text.data() + 7, month.month) : year;
    const bool whole = shaped && year.ec == std::errc() && year.ptr == text.data() + 4 && part.ec == std::errc()
        && part.ptr == text.data() + 7;
    if (!whole || month.year < 1900 || month.year > 2199 || month.month < 1 || month.month > 12)
        return base::badInput("'%1' is not a month; write it as YYYY-MM, such as 2026-10", text);
    return month;
}

std::string toText(Month month)
{
    return base::toText(firstDayOf(month)).substr(0, 7);
}

base::Date firstDayOf(Month month)
{
    return { std::chrono::year(month.year) / std::chrono::month(month.month) / std::chrono::day(1) };
}

base::Date lastDayOf(Month month)
{
    return base::lastDayOfMonth(month.year, month.month);
}

} // namespace mk::registry
