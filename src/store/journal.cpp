// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal.h"

#include "registry/acts_access.h"
#include "store/engine.h"

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

base::Result<Head> headOf(Session& session)
{
    if (const Done there = session.engine().inPlace(); !there) // else a window would show the newest entry of a file that is gone
        return there.error();
    auto query = session.statement("SELECT seq, digest, at, act FROM journal ORDER BY seq DESC LIMIT 1");
    if (!query)
        return query.error();
    if (const Done ran = query->run({}); !ran)
        return ran.error();
    Head head { {}, noDigest(), 0 };
    if (query->next())
        head = { { query->number(0) }, query->text(1), query->number(2), query->text(3) == registry::acts::RegistryMoved::kind };
    if (const Done done = query->finished(); !done)
        return done.error();
    return head;
}

Fault movedAway(Session& session, const Head& head)
{
    const auto entry = entryAt(session, head.seq);
    const auto body = entry && *entry ? Json::parse((*entry)->body) : base::Result<Json>(base::badInput("no entry"));
    const Json* to = body ? body->find("to") : nullptr;
    const std::string place = to != nullptr && to->text() != nullptr ? *to->text() : std::string("another place");
    return { FaultKind::Refused, session.path() + " was moved (entry " + std::to_string(head.seq.value) + "): it goes on in " + place
            + ". Nothing was stored here; record there, and name it with --registry" };
}

Done appendEntry(Session& session, const Entry& e)
{
    return session.execute("INSERT INTO journal (seq, id, at, zone, station, operator, act, subject, body, prev, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        { bound(e.seq.value), bound(e.id), bound(e.at), bound(e.zone), bound(e.station), bound(e.person), bound(e.act), bound(e.subject), bound(e.body), bound(e.prev),
            bound(e.digest) });
}

Entry entryFrom(const Statement& row)
{
    return { { row.number(0) }, row.text(1), row.number(2), row.text(3), row.text(4), row.text(5), row.text(6), row.text(7), row.text(8), row.text(9), row.text(10) };
}

base::Result<std::optional<Entry>> entryAt(Session& session, base::Seq seq)
{
    auto query = session.statement("SELECT seq, id, at, zone, station, operator, act, subject, body, prev, digest FROM journal WHERE seq = ?");
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(seq.value) }); !ran)
        return ran.error();
    const auto entry = query->next() ? std::optional(entryFrom(*query)) : std::nullopt;
    if (const Done done = query->finished(); !done)
        return done.error();
    return entry;
}

base::Result<std::optional<base::Seq>> entryWithId(Session& session, const std::string& id)
{
    auto query = session.statement(session.isServer() ? "SELECT seq FROM journal_id WHERE id = ?" : "SELECT seq FROM journal WHERE id = ?");
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(id) }); !ran)
        return ran.error();
    const auto seq = query->next() ? std::optional(base::Seq { query->number(0) }) : std::nullopt;
    if (const Done done = query->finished(); !done)
        return done.error();
    return seq;
}

base::Result<base::Seq> lastEntryBefore(Session& session, std::int64_t utcMs)
{
    // Times may run backwards where a clock did; what counts is the last entry, so the search goes from the newest.
    auto query = session.statement("SELECT seq FROM journal WHERE at <= ? ORDER BY seq DESC LIMIT 1");
    if (!query)
        return query.error();
    if (const Done ran = query->run({ bound(utcMs) }); !ran)
        return ran.error();
    const base::Seq seq { query->next() ? query->number(0) : 0 };
    if (const Done done = query->finished(); !done)
        return done.error();
    return seq;
}

} // namespace mk::store
