// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/failure_patterns.h"

#include "registry/meter/climbs.h"
#include "store/db/rows.h"
#include "store/index/rows/control_rows.h"

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
    // A set that held at its first attempt has no such run: the others are few, and have an index. CROSS JOIN keeps SQLite to this order.
    static const Sql sql({ SetVerdictRow::table, RunVerdictRow::table, ControlRunRow::table },
        "SELECT r.at, s.meter, r.operator, r.strip_vial, r.control_vial, v.level FROM set_verdict s CROSS JOIN run_verdict v"
        " CROSS JOIN control_run r WHERE (s.attempt > 1 OR s.verdict NOT IN ('accepted', 'warned'))"
        " AND v.set_id = s.set_id AND v.attempt = 1 AND v.verdict = 'rejected' AND "
            + known("v") + " AND r.set_id = v.set_id AND r.run_seq = v.run_seq AND " + known("r") + " AND " + known("s")
            + " AND s.last_at > :begin AND s.first_at <= :at");
    std::vector<FailedFirst> failures;
    const std::int64_t from = at.utcMs - kPatternDays * std::int64_t { 86'400'000 };
    const Done read = eachRow(
        reader.session(), sql, reader.asKnown({ { "begin", bound(from) }, { "at", bound(at.utcMs) } }), [&](const Statement& row) {
            FailedFirst failure { momentFrom(row.text("at")), base::MeterId(row.text("meter")), base::OperatorId(row.text("operator")),
                base::StripVialId(row.text("strip_vial")), base::ControlVialId(row.text("control_vial")) };
            const Done word = wordFrom(row.text("level"), failure.level);
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
    std::erase_if(patterns,
        [&](const FailurePattern& pattern) { return pattern.kind != FailureSubject::LatePass && !concerned.contains(pattern.subject); });
    return patterns;
}

} // namespace mk::store
