// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/rows.h"

namespace mk::store {

base::Result<std::optional<base::Seq>> seqFrom(Session& session, const Sql& sql, const Values& values)
{
    std::optional<base::Seq> seq;
    const base::Done read = eachRow(session, sql, values, [&](const Statement& row) {
        if (!seq)
            seq = base::Seq { row.number("seq") };
        return base::Done();
    });
    if (!read)
        return read.error();
    return seq;
}

std::vector<std::string> splitLines(const std::string& text)
{
    std::vector<std::string> lines;
    std::size_t at = 0;
    while (at < text.size()) {
        const auto end = std::min(text.find('\n', at), text.size());
        lines.push_back(text.substr(at, end - at));
        at = end + 1;
    }
    return lines;
}

base::Moment momentFrom(const std::string& text)
{
    const auto time = base::parseTimeText(text);
    return time ? base::momentOf(time->wall, time->offsetMinutes) : base::Moment {};
}

} // namespace mk::store
