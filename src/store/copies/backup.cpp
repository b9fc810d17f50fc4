// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/backup.h"

#include "store/journal/act_codec.h"
#include "store/copies/copy_files.h"
#include "store/engines/sqlite.h"
#include "store/db/rows.h"
#include "store/copies/verification.h"

#include <QDateTime>
#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QRegularExpression>

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
namespace acts = registry::acts;

namespace {

constexpr std::int64_t kCopyHourMs = 3'600'000;

QString asQt(const std::string& path)
{
    return QString::fromStdString(path);
}

/// A copy of this registry in the folder, by its name.
struct EarlierCopy {
    std::string path;
    std::int64_t entry = 0;
};

/// The registry's id is a time in front; its end tells registries apart.
std::string ownPrefix(const std::string& registryId)
{
    return "meterkeep-" + registryId.substr(registryId.size() < 8 ? 0 : registryId.size() - 8);
}

/// Newest entry first.
std::vector<EarlierCopy> copiesIn(const std::string& folder, const std::string& prefix)
{
    std::vector<EarlierCopy> copies;
    const QRegularExpression form(
        QStringLiteral("^%1-\\d{4}-\\d{2}-\\d{2}-\\d{4}-entry-(\\d{1,18})\\.mkr$").arg(QRegularExpression::escape(asQt(prefix))));
    for (const QFileInfo& file : QDir(asQt(folder)).entryInfoList(QDir::Files))
        if (const auto match = form.match(file.fileName()); match.hasMatch())
            copies.push_back({ file.filePath().toStdString(), match.captured(1).toLongLong() });
    std::ranges::sort(copies, [](const EarlierCopy& a, const EarlierCopy& b) { return a.entry > b.entry; });
    return copies;
}

Result<Head> headIn(const std::string& path)
{
    auto copy = SqliteEngine::look(path, Session::Access::ReadOnly);
    return copy ? headOf(**copy) : Result<Head>(copy.error());
}

/// A registry that is older than its own copy was put back by hand, or is another branch of it: a further copy would hide that.
Done followsFrom(Session& session, const std::string& copy, const Head& older)
{
    const auto live = headOf(session);
    if (!live)
        return live.error();
    if (live->seq.value < older.seq.value)
        return base::fault(FaultKind::Refused,
            "%1 ends with entry %2 and is older than its copy %3, which has %4: somebody put an earlier file in its place. No copy was made; bring the newer one back with restore %3",
            session.place(), live->seq.value, copy, older.seq.value);
    const auto same = entryAt(session, older.seq);
    if (!same)
        return same.error();
    if (!*same || (*same)->digest != older.digest)
        return base::fault(FaultKind::Refused,
            "%1 is not what its copy %2 was made from: they part before entry %3. No copy was made; keep both files, find out which is right, and bring that one back with restore",
            session.place(), copy, older.seq.value);
    return {};
}

/// The copies in the folder that can be read; those that cannot are named.
Result<std::vector<EarlierCopy>> readable(Session& session, std::vector<EarlierCopy> copies, std::vector<std::string>& notReadable)
{
    bool compared = false;
    std::vector<EarlierCopy> good;
    for (auto& copy : copies) {
        const auto head = headIn(copy.path);
        if (!head || head->seq.value != copy.entry) {
            notReadable.push_back(copy.path);
            continue;
        }
        if (!compared)
            if (const Done follows = followsFrom(session, copy.path, *head); !follows)
                return follows.error();
        compared = true;
        good.push_back(std::move(copy));
    }
    return good;
}

Done vacuumInto(Session& session, const std::string& path)
{
    auto query = session.statement("VACUUM INTO ?");
    if (!query)
        return query.error();
    if (const Done copied = query->run({ bound(path) }); !copied)
        return copied;
    return query->finished();
}

/// From a server: entry by entry, in one view of it.
Result<std::int64_t> copyFromServer(Session& session, const std::string& path)
{
    auto target = Session::create(path);
    if (!target)
        return target.error();
    if (const Done begun = session.beginRead(); !begun)
        return begun.error();
    const auto copied = copyInto(**target, entriesOf(session));
    session.rollBack();
    if (!copied)
        return copied.error();
    if (const Done folded = SqliteEngine::foldLog(**target); !folded)
        return folded.error();
    return copied->secretsLeft;
}

/// Reads the copy back from the disk. returns  its newest entry
Result<Head> prove(const std::string& path, Session& original)
{
    auto copy = SqliteEngine::look(path, Session::Access::ReadOnly);
    if (!copy)
        return copy.error();
    if (const Done sound = SqliteEngine::checkPages(**copy); !sound)
        return sound.error();
    auto head = headOf(**copy);
    if (!head)
        return head;
    if (const Done whole = proveWhole(**copy, head->digest); !whole)
        return whole.error();
    const auto same = entryAt(original, head->seq);
    if (!same)
        return same.error();
    if (!*same || (*same)->digest != head->digest)
        return base::fault(FaultKind::Damaged, "%1 does not hold: its newest entry is not that of the registry", path);
    return head;
}

std::string nameOf(const std::string& prefix, const base::Moment& now, base::Seq head)
{
    const std::string at = base::toText(now); // 2026-11-27T01:38…
    return prefix + "-" + at.substr(0, 10) + "-" + at.substr(11, 2) + at.substr(14, 2) + "-entry-" + std::to_string(head.value) + ".mkr";
}

void note(Session& session, const BackupRequest& request, MadeCopy& made, const registry::Zone& zone)
{
    auto registrar = Registrar::open(session, request.clock);
    const auto noted = registrar
        ? (*registrar)
              ->recordOwn(
                  acts::BackupMade { zone.at(request.clock()), fileName(made.copy), made.head.seq, made.head.digest }, request.author)
        : Result<base::Seq>(registrar.error());
    if (noted)
        made.noted = *noted;
    else
        made.notNotedBecause = noted.error().text;
}

} // namespace

Result<MadeCopy> backUp(Session& session, const BackupRequest& request)
{
    const QFileInfo to(asQt(request.to));
    const bool folder = to.isDir();
    if (!folder && to.exists())
        return base::fault(FaultKind::Conflict, "%1 exists already; name a file that is not there yet, or a folder", request.to);
    if (!folder && (request.to.ends_with('/') || !QFileInfo(to.absolutePath()).isDir()))
        return base::fault(FaultKind::NotFound, "the folder %1 does not exist; make it, or name another",
            request.to.ends_with('/') ? request.to : to.absolutePath().toStdString());
    if (!folder && request.keep)
        return base::badInput("--keep counts the copies in a folder; %1 is not one", request.to);
    const auto reader = Reader::open(session);
    if (!reader)
        return reader.error();

    MadeCopy made;
    std::vector<EarlierCopy> earlier;
    const std::string prefix = ownPrefix(reader->registryId());
    if (folder) {
        auto copies = readable(session, copiesIn(request.to, prefix), made.notReadable);
        if (!copies)
            return copies.error();
        earlier = std::move(copies).value();
    }
    StagedFile staged(folder ? request.to + "/" + prefix : request.to);
    if (session.isServer()) {
        const auto left = copyFromServer(session, staged.path());
        if (!left)
            return base::fault(left.error().kind, "no copy was made: %1", left.error());
        made.secretsLeft = *left;
    } else if (const Done copied = vacuumInto(session, staged.path()); !copied) {
        return base::fault(copied.error().kind, "no copy was made in %1: %2", to.absolutePath().toStdString(), copied.error());
    }
    // Nobody may read a copy who may not read the registry.
    QFile::setPermissions(
        asQt(staged.path()), session.isServer() ? QFile::ReadOwner | QFile::WriteOwner : QFile::permissions(asQt(session.path())));
    const auto head = prove(staged.path(), session);
    if (!head)
        return base::fault(head.error().kind,
            "the copy was read back and does not hold, so it was not kept: %1. Run verify on %2, and keep the copies that you have",
            head.error(), session.place());
    made.head = *head;
    made.copy = folder ? (to.filePath() + QLatin1Char('/')).toStdString() + nameOf(prefix, reader->zone().at(request.clock()), head->seq)
                       : request.to;
    if (const Done put = staged.putAt(made.copy); !put)
        return put.error();
    note(session, request, made, reader->zone());
    const auto keep = static_cast<std::size_t>(request.keep ? *request.keep - 1 : static_cast<int>(earlier.size())); // the new one counts
    for (std::size_t i = keep; i < earlier.size(); ++i)
        if (earlier[i].path != made.copy && QFile::remove(asQt(earlier[i].path)))
            made.removed.push_back(earlier[i].path);
    return made;
}

Result<CopyStanding> copyStanding(Reader& reader, base::Moment now)
{
    CopyStanding standing;
    standing.days = reader.policyAt(now).backupDays;
    std::int64_t since = 0;
    // The last condition is that of the index journal_by_kind.
    static const Sql sql({ Entry::table },
        "SELECT seq, body FROM journal WHERE act = :act AND subject = 'registry' AND seq <= :known"
        " AND act NOT IN ('control.run', 'control.judged') ORDER BY seq DESC LIMIT 1");
    static const Sql first({ Entry::table }, "SELECT at FROM journal WHERE seq = 1");
    Done read = eachRow(reader.session(), sql, reader.asKnown({ { "act", bound(std::string(acts::BackupMade::kind)) } }),
        [&](const Statement& row) -> Done {
            const auto act = actFromBody(acts::BackupMade::kind, row.text("body"));
            if (!act)
                return act.error();
            standing.newest = { { row.number("seq") }, std::get<acts::BackupMade>(*act) };
            since = standing.newest->act.at.utcMs;
            return {};
        });
    if (read && !standing.newest)
        read = eachRow(reader.session(), first, {}, [&](const Statement& row) {
            since = row.number("at");
            return Done();
        });
    if (!read)
        return read.error();
    // An hour more than the policy's days: a nightly copy is never ready at the same minute.
    standing.overdue = now.utcMs - since > (standing.days * 24 + 1) * kCopyHourMs;
    return standing;
}

} // namespace mk::store
