// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/journal.h"

#include "registry/acts/acts_access.h"
#include "store/db/engine.h"
#include "store/db/rows.h"

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

base::Result<Head> headOf(Session& session)
{
    if (const Done there = session.engine().inPlace(); !there) // else a window would show the newest entry of a file that is gone
        return there.error();
    Head head { {}, noDigest(), 0 };
    static const Sql sql({ Entry::table }, "SELECT seq, digest, at, act FROM journal ORDER BY seq DESC LIMIT 1");
    const Done read = eachRow(session, sql, {}, [&](const Statement& row) {
        head = { { row.number("seq") }, row.text("digest"), row.number("at"), row.text("act") == registry::acts::RegistryMoved::kind };
        return Done();
    });
    if (!read)
        return read.error();
    return head;
}

Fault movedAway(Session& session, const Head& head)
{
    const auto entry = entryAt(session, head.seq);
    const auto body = entry && *entry ? Json::parse((*entry)->body) : base::Result<Json>(base::badInput("no entry"));
    const Json* to = body ? body->find("to") : nullptr;
    if (to == nullptr || to->text() == nullptr)
        return base::fault(FaultKind::Refused,
            "%1 was moved (entry %2): it goes on in another place. Nothing was stored here; record there, and name it with --registry",
            session.place(), head.seq.value);
    return base::fault(FaultKind::Refused,
        "%1 was moved (entry %2): it goes on in %3. Nothing was stored here; record there, and name it with --registry", session.place(),
        head.seq.value, *to->text());
}

Done appendEntry(Session& session, const Entry& e)
{
    return insert(session, e);
}

Entry entryFrom(const Statement& row)
{
    static const registry::Zone utc = registry::Zone::utc();
    Entry entry;
    ColumnReader reader(row, 0, utc);
    Entry::describe(reader, entry);
    return entry;
}

base::Result<std::optional<Entry>> entryAt(Session& session, base::Seq seq)
{
    static const Select<Entry> sql("WHERE seq = :seq");
    std::optional<Entry> entry;
    const Done read = eachRow(session, sql, { { "seq", bound(seq.value) } }, [&](const Statement& row) {
        entry = entryFrom(row);
        return Done();
    });
    if (!read)
        return read.error();
    return entry;
}

base::Result<std::optional<base::Seq>> entryWithId(Session& session, const std::string& id)
{
    static const Sql inFile({ Entry::table }, "SELECT seq FROM journal WHERE id = :id");
    static const Sql onServer({ Entry::byTrigger }, "SELECT seq FROM journal_id WHERE id = :id");
    return seqFrom(session, session.isServer() ? onServer : inFile, { { "id", bound(id) } });
}

namespace {

constexpr std::int64_t kClocksDifferMs = 3'600'000; ///< thirty times what one entry may lie before the last without a notice of it

/// 0 where there is no such entry.
base::Result<std::int64_t> timeOf(Session& session, base::Seq seq)
{
    static const Sql sql({ Entry::table }, "SELECT at FROM journal WHERE seq = :seq");
    std::int64_t at = 0;
    const Done read = eachRow(session, sql, { { "seq", bound(seq.value) } }, [&](const Statement& row) {
        at = row.number("at");
        return Done();
    });
    if (!read)
        return read.error();
    return at;
}

} // namespace

base::Result<base::Seq> lastEntryBefore(Session& session, std::int64_t utcMs)
{
    // Times may run backwards where a clock did; what counts is the last entry. Every leap back is on record, and from one to the next
    // times run forward but for the difference of two workstations' clocks: there the place is found by halving, and only the entries of an
    // hour are read.
    static const Sql newestEntry({ Entry::table }, "SELECT seq FROM journal ORDER BY seq DESC LIMIT 1");
    static const Sql newestLeap(
        { "clock_notice" }, "SELECT seq FROM clock_notice WHERE seq <= :end AND direction = 'back' ORDER BY seq DESC LIMIT 1");
    static const Sql lastByThen(
        { Entry::table }, "SELECT seq FROM journal WHERE at <= :at AND seq >= :first AND seq < :end ORDER BY seq DESC LIMIT 1");
    const auto newest = seqFrom(session, newestEntry, {});
    if (!newest)
        return newest.error();
    for (std::int64_t end = newest->value_or(base::Seq()).value; end > 0;) {
        const auto leap = seqFrom(session, newestLeap, { { "end", bound(end) } });
        if (!leap)
            return leap.error();
        const std::int64_t begin = leap->value_or(base::Seq { 1 }).value;
        std::int64_t low = begin;
        std::int64_t high = end + 1; // from here on everything is later
        while (high - low > 1) {
            const std::int64_t middle = low + (high - low) / 2;
            const auto at = timeOf(session, { middle });
            if (!at)
                return at.error();
            (*at > utcMs && *at - utcMs > kClocksDifferMs ? high : low) = middle;
        }
        const auto last = seqFrom(session, lastByThen, { { "at", bound(utcMs) }, { "first", bound(begin) }, { "end", bound(high) } });
        if (!last || *last)
            return last ? base::Result<base::Seq>(**last) : last.error();
        end = begin - 1;
    }
    return base::Seq { 0 };
}

} // namespace mk::store
