// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/copying.h"

#include "store/journal/act_codec.h"
#include "store/journal/chain_check.h"
#include "store/journal/entry_lines.h"
#include "store/index/index.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"
#include "store/copies/verification.h"

#include <QFile>
#include <QFileInfo>

#include <algorithm>
#include <set>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
using registry::Act;
namespace acts = registry::acts;

namespace {

constexpr qint64 kLongestLine = 2 * 1024 * 1024;

Done eachLine(const std::string& path, const TakeEntry& take)
{
    QFile file(QString::fromStdString(path));
    if (!file.open(QIODevice::ReadOnly))
        return base::fault(FaultKind::Io, "%1 cannot be read; check its rights", path);
    for (std::int64_t number = 1; !file.atEnd(); ++number) {
        QByteArray line = file.readLine(kLongestLine);
        if (file.error() != QFileDevice::NoError)
            return base::fault(FaultKind::Io, "%1, line %2 cannot be read; check the disk", path, number);
        if (line.size() >= kLongestLine - 1)
            return base::fault(
                FaultKind::Damaged, "%1, line %2 is longer than any entry; this is not an export of a registry", path, number);
        if (!line.endsWith('\n'))
            return base::fault(
                FaultKind::Damaged, "%1, line %2 ends in the middle: the file was cut off. Take another copy of it", path, number);
        line.chop(1);
        const auto entry = entryOfLine({ line.constData(), static_cast<std::size_t>(line.size()) });
        if (!entry)
            return base::fault(FaultKind::Damaged, "%1, line %2: %3", path, number, entry.error());
        if (const Done taken = take(*entry); !taken)
            return taken;
    }
    return {};
}

/// What a manifest beside the lines says of them: an export that lost its last lines is a whole chain all the same.
Done againstManifest(const std::string& path, const Head& head)
{
    QFile file(QFileInfo(QString::fromStdString(path)).absolutePath() + QStringLiteral("/manifest.json"));
    if (!file.open(QIODevice::ReadOnly))
        return {};
    const QByteArray bytes = file.read(kLongestLine);
    const auto manifest = Json::parse(std::string_view(bytes.constData(), static_cast<std::size_t>(bytes.size())));
    const Json* digest = manifest ? manifest->find("head") : nullptr;
    if (digest == nullptr || digest->text() == nullptr)
        return base::fault(FaultKind::Damaged, "%1 cannot be read as the manifest of an export; take another copy of the folder",
            file.fileName().toStdString());
    if (*digest->text() != head.digest)
        return base::fault(FaultKind::Damaged,
            "%1 ends with entry %2, which is not the last one that manifest.json beside it names: lines are missing. Take another copy of the folder",
            path, head.seq.value);
    return {};
}

/// One entry into the target, with its rows of the index.
class Carrier {
public:
    Carrier(Session& target, const EntrySource& source) : m_target(target), m_source(source) { }

    Done take(const Entry& entry)
    {
        const auto broken = m_chain.breakAt(entry);
        const auto place = [&] { return m_source.placeOf(m_chain.count()); };
        if (broken)
            return base::fault(FaultKind::Damaged, "%1: %2. Nothing was taken over; take another copy", place(), fault(*broken));
        const auto act = actFromBody(entry.act, entry.body);
        if (!act)
            return base::fault(act.error().kind, "%1: %2", place(), act.error());
        if ((entry.seq.value == 1) != std::holds_alternative<acts::RegistryFounded>(*act))
            return base::fault(FaultKind::Damaged, "%1: a registry is founded by its first entry, and only by that one", place());
        if (const auto* secret = std::get_if<acts::SecretSet>(&*act))
            m_secrets.insert(secret->person.value);
        if (const Done appended = appendEntry(m_target, entry); !appended)
            return base::fault(appended.error().kind, "%1: %2", place(), appended.error());
        if (const Done applied = applyToIndex(m_target, entry.seq, entry.at, saysImported(entry.body), *act); !applied)
            return base::fault(applied.error().kind, "%1: %2", place(), applied.error());
        m_head = { entry.seq, entry.digest, entry.at, std::holds_alternative<acts::RegistryMoved>(*act) };
        return {};
    }

    const Head& head() const { return m_head; }
    const std::set<std::string>& secrets() const { return m_secrets; }

private:
    Session& m_target;
    const EntrySource& m_source;
    ChainCheck m_chain;
    Head m_head { {}, noDigest(), 0 };
    std::set<std::string> m_secrets; ///< people who have a password
};

/// On a server only whoever keeps the schema gets at the table.
Result<bool> reachesCredentials(Session& session, bool toWrite)
{
    bool may = !session.isServer();
    if (may)
        return may;
    static const Sql sql("SELECT has_table_privilege('credential', :privilege) AS may");
    const Values privilege { { "privilege", QString::fromLatin1(toWrite ? "INSERT" : "SELECT") } };
    const Done asked = eachRow(session, sql, privilege, [&](const Statement& row) {
        may = row.value("may").toBool();
        return Done();
    });
    if (!asked)
        return asked.error();
    return may;
}

/// returns  how many went along
Result<std::int64_t> copyCredentials(Session& from, Session& to)
{
    std::int64_t count = 0;
    const auto read = reachesCredentials(from, false);
    const auto written = reachesCredentials(to, true);
    if (!read || !written)
        return read ? written.error() : read.error();
    if (!*read || !*written)
        return count;
    static const Sql add(Writes { "credential" }, "INSERT INTO credential (operator, check_text) VALUES (:operator, :check_text)");
    static const Sql all({ "credential" }, "SELECT operator, check_text FROM credential ORDER BY operator");
    const Done done = eachRow(from, all, {}, [&](const Statement& row) {
        ++count;
        return execute(to, add, { { "operator", row.value("operator") }, { "check_text", row.value("check_text") } });
    });
    if (!done)
        return done.error();
    return count;
}

Result<Copied> fill(Session& target, const EntrySource& source, const std::optional<LastWord>& last)
{
    const auto there = headOf(target);
    if (!there)
        return there.error();
    if (there->seq.value != 0)
        return base::fault(FaultKind::Conflict, "%1 holds a registry already; name a place without one", target.place());
    Carrier carrier(target, source);
    if (const Done read = source.each([&](const Entry& entry) { return carrier.take(entry); }); !read)
        return read.error();
    if (carrier.head().seq.value == 0)
        return base::fault(FaultKind::Damaged, "%1 holds no entry; take another copy", source.name);
    if (source.session != nullptr) {
        const auto head = headOf(*source.session);
        if (!head)
            return head.error();
        if (head->digest != carrier.head().digest)
            return base::fault(FaultKind::Damaged, "%1 was read to entry %2 and ends with entry %3; run verify on it", source.name,
                carrier.head().seq.value, head->seq.value);
    } else if (const Done whole = againstManifest(source.name.text, carrier.head()); !whole) {
        return whole.error();
    }
    Copied copied { carrier.head(), static_cast<std::int64_t>(carrier.secrets().size()) };
    if (source.session != nullptr) {
        const auto taken = copyCredentials(*source.session, target);
        if (!taken)
            return taken.error();
        copied.secretsLeft = std::max<std::int64_t>(0, copied.secretsLeft - *taken);
    }
    if (last)
        if (const auto added = appendHere(target, last->act(copied.head), last->author, last->clock()); !added)
            return added.error();
    return copied;
}

} // namespace

EntrySource entriesOf(Session& session)
{
    return { session.place(), false,
        [&session](const TakeEntry& take) {
            return eachRow(
                session, kSelectEntries, {}, [&](const Statement& row) { return take(entryFrom(row)); }, Rows::Streamed);
        },
        &session };
}

Result<EntrySource> linesOf(const std::string& path)
{
    QFileInfo file(QString::fromStdString(path));
    if (file.isDir())
        file = QFileInfo(file.filePath() + QStringLiteral("/journal.ndjson"));
    if (!file.isFile())
        return base::badInput("there is no journal.ndjson at %1; name an export or a copy of a registry", path);
    const std::string name = file.filePath().toStdString();
    return EntrySource { name, true, [name](const TakeEntry& take) { return eachLine(name, take); } };
}

Result<Copied> copyInto(Session& target, const EntrySource& source, const std::optional<LastWord>& last)
{
    Transaction transaction(target);
    if (const Done begun = transaction.begin(); !begun)
        return begun.error();
    auto copied = fill(target, source, last);
    if (!copied)
        return copied;
    if (const Done committed = transaction.commit(); !committed)
        return committed.error();
    return copied;
}

Result<Head> appendHere(Session& session, const Act& act, const Author& author, std::int64_t nowMs)
{
    auto head = headOf(session);
    if (!head)
        return head.error();
    head->moved = false; // a copy that takes a registry's place opens it again
    auto reader = Reader::open(session);
    if (!reader)
        return reader.error();
    registry::desk::MeterWorks meters;
    ActBatch batch({ session, *reader, meters, *head }, author, ActBatch::Kind::Recorded, nowMs, newUuid);
    if (const auto appended = batch.appendOwn(act); !appended)
        return appended.error();
    return head;
}

Done proveWhole(Session& session, const std::string& digest)
{
    const auto found = verify(session, digest);
    if (!found)
        return found.error();
    if (!found->chainIntact)
        return base::fault(FaultKind::Damaged, "%1 does not hold: the chain is broken at entry %2, %3", session.place(), *found->brokenAt,
            fault(*found->brokenHow));
    if (!found->indexMatches)
        return base::fault(FaultKind::Damaged, "%1 does not hold: the index differs in %2", session.place(), found->differences.front());
    if (!found->headKnown.value_or(false))
        return base::fault(FaultKind::Damaged, "%1 does not hold: it lacks entries that were to be in it", session.place());
    return {};
}

Result<std::unique_ptr<Session>> emptyPlace(const std::string& place, const PasswordSource& password)
{
    auto made = Session::create(place, password);
    if (made || made.error().kind != FaultKind::Conflict)
        return made;
    auto open = Session::open(place, Session::Access::ReadWrite, password);
    if (!open)
        return made;
    const auto head = headOf(**open);
    if (!head || head->seq.value != 0)
        return made;
    return open;
}

} // namespace mk::store
