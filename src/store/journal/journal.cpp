// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/journal.h"

#include "registry/acts/acts_access.h"
#include "store/db/engine.h"

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
    return { FaultKind::Refused,
        session.path() + " was moved (entry " + std::to_string(head.seq.value) + "): it goes on in " + place
            + ". Nothing was stored here; record there, and name it with --registry" };
}

Done appendEntry(Session& session, const Entry& e)
{
    return session.execute(
        "INSERT INTO journal (seq, id, at, zone, station, operator, act, subject, body, prev, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        { bound(e.seq.value), bound(e.id), bound(e.at), bound(e.zone), bound(e.station), bound(e.person), bound(e.act), bound(e.subject),
            bound(e.body), bound(e.prev), bound(e.digest) });
}

Entry entryFrom(const Statement& row)
{
    return { { row.number(0) }, row.text(1), row.number(2), row.text(3), row.text(4), row.text(5), row.text(6), row.text(7), row.text(8),
        row.text(9), row.text(10) };
}

base::Result<std::optional<Entry>> entryAt(Session& session, base::Seq seq)
{
    auto query = session.statement(
        "SELECT seq, id, at, zone, station, operator, act, subject, body, prev, digest FROM journal WHERE seq = ?");
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

namespace {

constexpr std::int64_t kClocksDifferMs = 3'600'000; ///< thirty times what one entry may lie before the last without a notice of it

/// The first number; `otherwise` where there is no row.
base::Result<std::int64_t> numberFrom(Session& session, const char* sql, const QVariantList& values, std::int64_t otherwise)
{
    auto query = session.statement(sql);
    if (!query)
        return query.error();
    if (const Done ran = query->run(values); !ran)
        return ran.error();
    const std::int64_t number = query->next() ? query->number(0) : otherwise;
    if (const Done done = query->finished(); !done)
        return done.error();
    return number;
}

} // namespace

base::Result<base::Seq> lastEntryBefore(Session& session, std::int64_t utcMs)
{
    // Times may run backwards where a clock did; what counts is the last entry. Every leap back is on record, and from one to the next
    // times run forward but for the difference of two workstations' clocks: there the place is found by halving, and only the entries of an
    // hour are read.
    const auto newest = numberFrom(session, "SELECT seq FROM journal ORDER BY seq DESC LIMIT 1", {}, 0);
    if (!newest)
        return newest.error();
    for (std::int64_t end = *newest; end > 0;) {
        const auto begin = numberFrom(
            session, "SELECT seq FROM clock_notice WHERE seq <= ? AND direction = 'back' ORDER BY seq DESC LIMIT 1", { bound(end) }, 1);
        if (!begin)
            return begin.error();
        std::int64_t low = *begin;
        std::int64_t high = end + 1; // from here on everything is later
        while (high - low > 1) {
            const std::int64_t middle = low + (high - low) / 2;
            const auto at = numberFrom(session, "SELECT at FROM journal WHERE seq = ?", { bound(middle) }, 0);
            if (!at)
                return at.error();
            (*at > utcMs && *at - utcMs > kClocksDifferMs ? high : low) = middle;
        }
        const auto last = numberFrom(session, "SELECT seq FROM journal WHERE at <= ? AND seq >= ? AND seq < ? ORDER BY seq DESC LIMIT 1",
            { bound(utcMs), bound(*begin), bound(high) }, 0);
        if (!last || *last > 0)
            return last ? base::Result<base::Seq>(base::Seq { *last }) : last.error();
        end = *begin - 1;
    }
    return base::Seq { 0 };
}

} // namespace mk::store
