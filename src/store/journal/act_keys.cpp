// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/act_keys.h"

#include "store/db/rows.h"
#include "store/journal/act_key_row.h"
#include "store/journal/journal.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Seq;

namespace {

base::Result<std::int64_t> runsOfLevel(Session& session, const acts::ControlRun& run)
{
    static const Sql sql(
        { "control_run" }, "SELECT count(DISTINCT run_seq) AS runs FROM control_run WHERE set_id = :set_id AND level = :level");
    std::int64_t count = 0;
    const Done read = eachRow(
        session, sql, { { "set_id", bound(run.set.value) }, { "level", bound(std::string(word(run.level))) } }, [&](const Statement& row) {
            count = row.number("runs");
            return Done();
        });
    if (!read)
        return read.error();
    return count;
}

/// A key with its dates and times as the wall clock shows them, to the second, without offset.
std::string plainKey(const std::string& key)
{
    std::string plain;
    std::size_t at = 0;
    while (at <= key.size()) {
        const auto slash = std::min(key.find('/', at), key.size());
        const std::string part = key.substr(at, slash - at);
        const auto time = base::parseTimeText(part.size() == 10 ? part + "T00:00" : part);
        plain += (at == 0 ? "" : "/") + (time ? base::toText(base::momentOf(time->wall, 0)).substr(0, 19) : part);
        at = slash + 1;
    }
    return plain;
}

base::Result<std::optional<Seq>> lookUpNumber(Session& session, Seq seq)
{
    const auto entry = entryAt(session, seq);
    if (!entry)
        return entry.error();
    return *entry ? std::optional(seq) : std::nullopt;
}

} // namespace

Done enterKey(Session& session, Seq seq, const Act& act)
{
    const std::string_view file = fileOf(act);
    if (file.empty())
        return {};
    std::string key = keyOf(act);
    if (const auto* run = std::get_if<acts::ControlRun>(&act)) {
        const auto earlier = runsOfLevel(session, *run);
        if (!earlier)
            return earlier.error();
        key += '/' + std::to_string(*earlier + 1);
    }
    return insert(session, ActKeyRow { std::string(file), key, plainKey(key), { seq } });
}

base::Result<std::optional<Seq>> entryOfKey(Session& session, const std::string& file, const std::string& key)
{
    static const Sql exact(
        { ActKeyRow::table }, "SELECT from_seq AS seq FROM act_key WHERE file = :file AND key = :key ORDER BY from_seq DESC LIMIT 1");
    static const Sql plain(
        { ActKeyRow::table }, "SELECT from_seq AS seq FROM act_key WHERE file = :file AND plain_key = :key ORDER BY from_seq DESC LIMIT 1");
    if (file == "entry") { // what no file carries is called by its number
        const auto number = TextForm<Seq>::read(key, {});
        if (!number)
            return number.error();
        return lookUpNumber(session, *number);
    }
    const std::string name = file.ends_with(".csv") ? file : file + ".csv";
    const auto called = [&](const std::string& text) { return Values { { "file", bound(name) }, { "key", bound(text) } }; };
    auto seq = seqFrom(session, exact, called(key));
    if (seq && !*seq)
        seq = seqFrom(session, plain, called(plainKey(key)));
    if (seq && !*seq && name == "control_runs.csv")
        seq = seqFrom(session, plain, called(plainKey(key + "/1")));
    return seq;
}

} // namespace mk::store
