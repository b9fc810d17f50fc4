// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/terms/values.h"

namespace mk::registry {

base::Result<Reading> parseReading(std::string_view typed)
{
    if (typed == "HI")
        return Reading(High {});
    if (typed == "LO")
        return Reading(Low {});
    if (typed.starts_with("ERR:") && typed.size() > 4)
        return Reading(ErrorCode { std::string(typed.substr(4)) });
    auto number = base::Decimal::parse(typed);
    if (!number || typed.starts_with('-'))
        return base::badInput("'%1' is not a result; write the number as the meter shows it, or HI, LO or ERR:code", typed);
    return Reading(std::move(number).value());
}

std::string toText(const Reading& reading)
{
    if (const auto* number = std::get_if<base::Decimal>(&reading))
        return number->typed();
    if (const auto* error = std::get_if<ErrorCode>(&reading))
        return "ERR:" + error->code;
    return std::string(kindWord(reading));
}

std::string_view kindWord(const Reading& reading)
{
    static constexpr std::string_view kKinds[] = { "number", "HI", "LO", "error" };
    return kKinds[reading.index()];
}

} // namespace mk::registry
