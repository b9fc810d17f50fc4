// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/terms/text_form.h"

#include <charconv>

namespace mk::registry {

base::Result<base::Moment> TextForm<base::Moment>::read(std::string_view text, const ReadContext& context)
{
    assert(context.zone != nullptr);
    if (text.size() == 10) {
        const auto date = base::parseDate(text);
        if (!date)
            return date.error();
        return context.zone->startOf(*date);
    }
    const auto time = base::parseTimeText(text);
    if (!time)
        return time.error();
    if (time->hasOffset)
        return base::momentOf(time->wall, time->offsetMinutes);

    const Zone::Resolved resolved = context.zone->resolve(time->wall);
    const std::string shown(text);
    if (resolved.kind == Zone::Kind::Never)
        return base::badInput("'%1' does not exist in %2, the clock skips it; write the time with its offset", shown, context.zone->name());
    if (resolved.kind == Zone::Kind::Twice) {
        const std::string first = base::toText(resolved.first), second = base::toText(resolved.second);
        if (context.questions == nullptr)
            return base::badInput("'%1' happens twice in %2; write %3 or %4", shown, context.zone->name(), first, second);
        context.questions->push_back(
            "'" + shown + "' happens twice in " + context.zone->name() + " (" + first + " or " + second + "); the first is stored");
    }
    return resolved.first;
}

base::Result<base::Seq> TextForm<base::Seq>::read(std::string_view text, const ReadContext&)
{
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || value < 1)
        return base::badInput("'%1' is not an entry number; write a whole number from 1", text);
    return base::Seq { value };
}

} // namespace mk::registry
