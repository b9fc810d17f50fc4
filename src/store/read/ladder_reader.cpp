// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/ladder_reader.h"

#include "store/db/rows.h"

#include <algorithm>
#include <set>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

Result<std::vector<FailurePattern>> patternsOf(Reader& reader, const base::MeterId& meter, Moment at)
{
    std::vector<FailedFirst> failures;
    const std::int64_t from = at.utcMs - kPatternDays * std::int64_t { 86'400'000 };
    const QVariant n = bound(reader.asOf().value);
    const Done read = eachRow(reader.session(),
        // A set that held at its first attempt has no such run: the others are few, and have an index. CROSS JOIN keeps SQLite to this
        // order.
        "SELECT r.at, s.meter, r.operator, r.strip_vial, r.control_vial, v.level FROM set_verdict s CROSS JOIN run_verdict v CROSS JOIN control_run r"
        " WHERE (s.attempt > 1 OR s.verdict NOT IN ('accepted', 'warned'))"
        " AND v.set_id = s.set_id AND v.attempt = 1 AND v.verdict = 'rejected' AND v.from_seq <= ? AND (v.to_seq IS NULL OR v.to_seq > ?)"
        " AND r.set_id = v.set_id AND r.run_seq = v.run_seq AND r.from_seq <= ? AND (r.to_seq IS NULL OR r.to_seq > ?)"
        " AND s.from_seq <= ? AND (s.to_seq IS NULL OR s.to_seq > ?) AND s.last_at > ? AND s.first_at <= ?",
        { n, n, n, n, n, n, bound(from), bound(at.utcMs) }, [&](const Statement& row) {
            FailedFirst failure { momentFrom(row.text(0)), base::MeterId(row.text(1)), base::OperatorId(row.text(2)),
                base::StripVialId(row.text(3)), base::ControlVialId(row.text(4)) };
            const Done word = wordFrom(row.text(5), failure.level);
            failures.push_back(std::move(failure));
            return word;
        });
    if (!read)
        return read.error();
    auto climbs = climbsOf(reader, meter, { from, at.offsetMinutes }, at);
    if (!climbs)
        return climbs.error();
    std::erase_if(*climbs, [&](const Ladder& ladder) { return ladder.attempts.back().at.utcMs <= from; });

    std::set<std::string> concerned { meter.value };
    for (const auto& failure : failures)
        if (failure.meter == meter)
            concerned.insert({ failure.stripVial.value, failure.controlVial.value, failure.by.value });
    auto patterns = failurePatterns(failures, *climbs, at);
    std::erase_if(
        patterns, [&](const FailurePattern& pattern) { return pattern.kind != "late-pass" && !concerned.contains(pattern.subject); });
    return patterns;
}

} // namespace mk::store
