// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/act_keys.h"

#include "store/journal/journal.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Seq;

namespace {

base::Result<std::int64_t> runsOfLevel(Session& session, const acts::ControlRun& run)
{
    auto query = session.statement("SELECT count(DISTINCT run_seq) FROM control_run WHERE set_id = ? AND level = ?");
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(run.set.value), bound(std::string(word(run.level))) }); !ran)
        return ran.error();
    const std::int64_t count = query->next() ? query->number(0) : 0;
    if (const Done done = query->finished(); !done)
        return done.error();
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

base::Result<std::optional<Seq>> lookUpKey(Session& session, const char* sql, const std::string& file, const std::string& key)
{
    auto query = session.statement(sql);
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(file), bound(key) }); !ran)
        return ran.error();
    const auto seq = query->next() ? std::optional(Seq { query->number(0) }) : std::nullopt;
    if (const Done done = query->finished(); !done)
        return done.error();
    return seq;
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
    return session.execute("INSERT INTO act_key (file, key, plain_key, from_seq) VALUES (?, ?, ?, ?)",
        { bound(std::string(file)), bound(key), bound(plainKey(key)), bound(seq.value) });
}

base::Result<std::optional<Seq>> entryOfKey(Session& session, const std::string& file, const std::string& key)
{
    constexpr const char* kExact = "SELECT from_seq FROM act_key WHERE file = ? AND key = ? ORDER BY from_seq DESC LIMIT 1";
    constexpr const char* kPlain = "SELECT from_seq FROM act_key WHERE file = ? AND plain_key = ? ORDER BY from_seq DESC LIMIT 1";
    if (file == "entry") { // what no file carries is called by its number
        const auto number = TextForm<Seq>::read(key, {});
        if (!number)
            return number.error();
        return lookUpNumber(session, *number);
    }
    const std::string name = file.ends_with(".csv") ? file : file + ".csv";
    auto seq = lookUpKey(session, kExact, name, key);
    if (seq && !*seq)
        seq = lookUpKey(session, kPlain, name, plainKey(key));
    if (seq && !*seq && name == "control_runs.csv")
        seq = lookUpKey(session, kPlain, name, plainKey(key + "/1"));
    return seq;
}

} // namespace mk::store
