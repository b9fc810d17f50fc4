// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/restore.h"

#include "store/db/address.h"
#include "store/copies/copy_files.h"
#include "store/engines/sqlite.h"
#include "store/read/reader.h"

#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QLockFile>

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
namespace acts = registry::acts;

namespace {

Result<std::string> digestAt(Session& session, std::int64_t seq)
{
    const auto entry = entryAt(session, { seq });
    if (!entry)
        return entry.error();
    return *entry ? (*entry)->digest : std::string();
}

/// Up to which entry two chains are the same: what parted once never meets again.
Result<std::int64_t> commonEntries(Session& a, Session& b, std::int64_t most)
{
    std::int64_t same = 0;
    std::int64_t other = most + 1;
    while (other - same > 1) {
        const std::int64_t middle = same + (other - same) / 2;
        const auto left = digestAt(a, middle);
        const auto right = digestAt(b, middle);
        if (!left || !right)
            return left ? right.error() : left.error();
        (*left == *right && !left->empty() ? same : other) = middle;
    }
    return same;
}

class Restoring {
public:
    explicit Restoring(const RestoreRequest& request) : m_request(request) { }

    Result<Restored> run()
    {
        const auto address = Address::parse(m_request.place);
        if (!address)
            return address.error();
        const QString copy = QString::fromStdString(m_request.copy);
        if (!QFileInfo::exists(copy))
            return base::fault(
                FaultKind::NotFound, "there is nothing at %1; name a copy that backup made, or an export of the journal", m_request.copy);
        const Done done = address->isServer() ? ontoServer() : ontoFile();
        if (!done)
            return done.error();
        return m_out;
    }

private:
    void reached(RestoreStep step) const
    {
        if (m_request.reached)
            m_request.reached(step);
    }

    /// Is it one of our files, and no export?
    Result<bool> isFile() const
    {
        const QFileInfo info(QString::fromStdString(m_request.copy));
        if (info.isDir())
            return false;
        QFile file(info.filePath());
        if (!file.open(QIODevice::ReadOnly))
            return base::fault(FaultKind::Io, "%1 cannot be read; check its rights", m_request.copy);
        const QByteArray first = file.read(16);
        if (first == QByteArray("SQLite format 3\0", 16))
            return true;
        if (first.startsWith('{'))
            return false;
        return base::fault(FaultKind::Damaged,
            "%1 is neither a copy of a registry nor an export of its journal; nothing was touched. Name another", m_request.copy);
    }

    Fault notHolding(const Fault& fault) const
    {
        return base::fault(fault.kind, "the copy %1 was not restored, nothing was touched: %2", m_request.copy, fault);
    }

    /// The copy beside the place, brought up to date and proven.
    Result<std::unique_ptr<Session>> stage(const StagedFile& staged, const Done& filled)
    {
        if (!filled)
            return notHolding(filled.error());
        // Asked of the file itself first: what a later version wrote, or what is none of ours, is not to be opened for writing.
        {
            const auto looked = SqliteEngine::look(staged.path(), Session::Access::ReadOnly);
            if (!looked)
                return notHolding(inItsName(looked.error(), staged));
        }
        auto session = Session::open(staged.path(), Session::Access::ReadWrite);
        if (!session)
            return notHolding(inItsName(session.error(), staged));
        reached(RestoreStep::Staged);
        Done proven = SqliteEngine::checkPages(**session);
        const auto head = proven ? headOf(**session) : Result<Head>(proven.error());
        if (head && head->seq.value == 0)
            return notHolding(base::fault(FaultKind::Damaged, "it holds no entry"));
        if (head)
            proven = proveWhole(**session, head->digest);
        if (!head || !proven)
            return notHolding(inItsName(head ? proven.error() : head.error(), staged));
        m_out.copy = *head;
        reached(RestoreStep::Proven);
        return session;
    }

    /// A fault that names the staged file, in the name of the copy.
    Fault inItsName(Fault fault, const StagedFile& staged) const
    {
        const auto renamed = [&](std::string& text) {
            for (auto at = text.find(staged.path()); at != std::string::npos; at = text.find(staged.path(), at + 2))
                text.replace(at, staged.path().size(), "it");
        };
        renamed(fault.text);
        for (auto& arg : fault.args) {
            renamed(arg.text);
            if (arg.cause)
                arg.cause = std::make_shared<const Fault>(inItsName(*arg.cause, staged));
        }
        return fault;
    }

    Done fillFromLines(const std::string& place)
    {
        const auto lines = linesOf(m_request.copy);
        if (!lines)
            return lines.error();
        auto target = Session::create(place);
        if (!target)
            return target.error();
        const auto copied = copyInto(**target, *lines);
        if (!copied)
            return copied.error();
        m_out.secretsLeft = copied->secretsLeft;
        return {};
    }

    Done fill(StagedFile& staged)
    {
        const auto file = isFile();
        if (!file)
            return file.error();
        return *file ? staged.copyFrom(m_request.copy) : fillFromLines(staged.path());
    }

    acts::RegistryRestored act(const registry::Zone& zone) const
    {
        acts::RegistryRestored act { zone.at(m_request.clock()), fileName(m_request.copy), m_out.copy.seq, m_out.copy.digest };
        if (m_out.replaced && m_out.replaced->head) {
            act.replacedHead = m_out.replaced->head->seq;
            act.replacedDigest = m_out.replaced->head->digest;
        }
        return act;
    }

    Done ontoServer()
    {
        const auto file = isFile();
        if (!file)
            return file.error();
        StagedFile staged((QDir::tempPath() + QStringLiteral("/meterkeep-restore")).toStdString());
        auto proven = stage(staged, fill(staged));
        if (!proven)
            return proven.error();
        const auto reader = Reader::open(**proven);
        if (!reader)
            return reader.error();
        auto target = emptyPlace(m_request.place, m_request.password);
        if (!target) {
            if (target.error().kind != FaultKind::Conflict)
                return target.error();
            return base::fault(FaultKind::Conflict,
                "%1. On a server a copy is restored only into an empty database: let a new one be made, restore there, and name it with --registry",
                target.error());
        }
        if (const Done begun = (*proven)->beginRead(); !begun)
            return begun;
        const LastWord last { [&](const Head&) { return registry::Act(act(reader->zone())); }, m_request.author, m_request.clock };
        auto copied = copyInto(**target, entriesOf(**proven), last);
        (*proven)->rollBack();
        if (!copied)
            return copied.error();
        if (const Done whole = proveWhole(**target, copied->head.digest); !whole)
            return base::fault(whole.error().kind, "the registry was restored and does not hold, do not use it: %1", whole.error());
        const auto head = headOf(**target);
        if (!head)
            return head.error();
        m_out.secretsLeft = copied->secretsLeft;
        m_out.head = *head;
        m_out.done = true;
        return {};
    }

    Done ontoFile()
    {
        const QFileInfo place(QString::fromStdString(m_request.place));
        if (place.isDir())
            return base::badInput("%1 is a folder; name the registry file in it", m_request.place);
        if (place.exists() && place.canonicalFilePath() == QFileInfo(QString::fromStdString(m_request.copy)).canonicalFilePath())
            return base::badInput("%1 is the registry itself; name a copy of it", m_request.copy);
        if (!QDir().mkpath(place.absolutePath()))
            return base::fault(
                FaultKind::Io, "the folder %1 cannot be made; check its name and your rights", place.absolutePath().toStdString());
        // A link goes on pointing where it pointed.
        m_place = place.exists() ? place.canonicalFilePath().toStdString() : m_request.place;
        QLockFile lock(QString::fromStdString(m_place + ".restoring"));
        lock.setStaleLockTime(0); // it ends with the program that holds it, however long that takes
        if (!lock.tryLock(0))
            return lock.error() == QLockFile::LockFailedError
                ? base::fault(FaultKind::Busy, "another restore to %1 is at work; wait until it is done", m_place)
                : base::fault(FaultKind::ReadOnly, "nothing can be written beside %1; check the rights of its folder", m_place);
        StagedFile staged(m_place);
        auto proven = stage(staged, fill(staged));
        if (!proven)
            return proven.error();
        if (QFileInfo::exists(QString::fromStdString(m_place))) {
            const auto standing = compare(**proven);
            if (!standing)
                return standing.error();
            m_out.replaced = *standing;
            if (!m_request.replace) {
                m_out.refused = base::refused(
                    "%1. Nothing was touched; to go back to the copy all the same, say --replace (what it replaces is kept beside it)",
                    standing->told);
                return {};
            }
        }
        return putInPlace(staged, std::move(proven).value());
    }

    /// until  when the newest of what would be lost was recorded; empty where that cannot be read
    Fault inWords(const Standing& standing, const std::string& until) const
    {
        const std::int64_t copyEnds = m_out.copy.seq.value, ends = standing.head->seq.value;
        const Fault entries = standing.lost == 1 ? base::refused("1 entry") : base::refused("%1 entries", standing.lost);
        const Fault would = until.empty() ? base::refused("%1 would be lost", entries)
                                          : base::refused("%1, the last of %2, would be lost", entries, until);
        if (standing.otherRegistry)
            return base::refused("the copy is of another registry than the one at %1: all of its %2", m_place, would);
        if (standing.older && standing.common == copyEnds)
            return base::refused("the registry at %1 and the copy are the same to their last entry, %2", m_place, standing.common);
        if (standing.older)
            return base::refused(
                "the registry at %1 is older than the copy: it ends with entry %2, the copy ends with entry %3, nothing would be lost",
                m_place, ends, copyEnds);
        if (standing.common == copyEnds)
            return base::refused("the copy ends with entry %1 and is older than the registry at %2, which ends with entry %3: %4", copyEnds,
                m_place, ends, would);
        return base::refused("the registry at %1 and the copy part at entry %2: from there on %3", m_place, standing.common + 1, would);
    }

    Result<Standing> compare(Session& copy)
    {
        Standing standing;
        const auto cannot = [&](const Fault& fault) {
            standing.notReadableBecause = fault.text;
            standing.told = base::refused(
                "what lies at %1 cannot be read (%2): whether it has entries that the copy has not, cannot be told", m_place, fault);
            return standing;
        };
        auto live = SqliteEngine::look(m_place, Session::Access::ReadOnly);
        if (!live) {
            if (live.error().kind == FaultKind::Damaged)
                return cannot(live.error());
            return live.error(); // of a later version, or without the right to read it
        }
        const auto head = headOf(**live);
        if (!head)
            return cannot(head.error());
        const auto common = commonEntries(**live, copy, std::min(head->seq.value, m_out.copy.seq.value));
        if (!common)
            return cannot(common.error());
        const auto newest = entryAt(**live, head->seq);
        const std::string until = newest && *newest ? base::toText(base::Moment { (*newest)->at, 0 }).substr(0, 16) + " UTC"
                                                    : std::string();
        standing.head = *head;
        standing.common = *common;
        standing.lost = head->seq.value - *common;
        standing.older = standing.lost == 0;
        standing.otherRegistry = *common == 0 && head->seq.value > 0;
        standing.told = inWords(standing, until);
        return standing;
    }

    /// Nobody else has the file open, and nobody comes in until the session ends. Null where the file cannot be read at all.
    Result<std::unique_ptr<Session>> hold()
    {
        auto live = SqliteEngine::look(m_place, Session::Access::ReadWrite);
        Done held = live ? SqliteEngine::foldLog(**live) : Done(live.error());
        if (held)
            held = (*live)->execute("BEGIN EXCLUSIVE");
        const auto head = held ? headOf(**live) : Result<Head>(held.error());
        if (!head) {
            if (head.error().kind == FaultKind::Damaged)
                return std::unique_ptr<Session>();
            if (head.error().kind == FaultKind::Busy)
                return base::fault(FaultKind::Busy,
                    "%1 is open in another program; close every window on it, then try again. Nothing was touched", m_place);
            return head.error();
        }
        if (m_out.replaced->head && head->digest != m_out.replaced->head->digest)
            return base::fault(FaultKind::Busy, "%1 was written to in the meantime; try again. Nothing was touched", m_place);
        return live;
    }

    Done putInPlace(StagedFile& staged, std::unique_ptr<Session> session)
    {
        std::unique_ptr<Session> held;
        if (m_out.replaced) {
            auto live = hold();
            if (!live)
                return live.error();
            held = std::move(live).value();
        }
        reached(RestoreStep::Held);
        {
            const auto reader = Reader::open(*session);
            if (!reader)
                return reader.error();
            Transaction transaction(*session);
            Done done = transaction.begin();
            const auto noted = done ? appendHere(*session, registry::Act(act(reader->zone())), m_request.author, m_request.clock())
                                    : Result<Head>(done.error());
            done = noted ? transaction.commit() : Done(noted.error());
            if (done)
                done = SqliteEngine::foldLog(*session);
            if (!done)
                return done;
            m_out.head = *noted;
        }
        session.reset();
        reached(RestoreStep::Noted);
        const std::string kept = nameBeside(m_place, ".replaced-" + stamp());
        if (m_out.replaced) {
            QFile::setPermissions(QString::fromStdString(staged.path()), QFile::permissions(QString::fromStdString(m_place)));
            if (const Done done = keepAlso(m_place, kept); !done)
                return done;
            m_out.keptAs = kept;
        }
        // A log that belongs to what is replaced would be taken for the new file's own.
        if (const Done aside = setLogsAside(m_place, kept); !aside)
            return aside;
        reached(RestoreStep::Kept);
        const Done put = m_out.replaced ? staged.putInPlaceOf(m_place) : staged.putAt(m_place);
        if (!put)
            return put;
        reached(RestoreStep::Replaced);
        m_out.done = true;
        return {};
    }

    /// 20261127-013821, UTC
    std::string stamp() const
    {
        std::string digits;
        for (const char c : base::toText(base::Moment { m_request.clock(), 0 }).substr(0, 19))
            if (c >= '0' && c <= '9')
                digits += c;
        return digits.insert(std::min<std::size_t>(8, digits.size()), "-");
    }

    const RestoreRequest& m_request;
    std::string m_place;
    Restored m_out;
};

} // namespace

Result<Restored> restore(const RestoreRequest& request)
{
    return Restoring(request).run();
}

} // namespace mk::store
