// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/engines/sqlite_place.h"

#include "store/engines/sqlite.h"
#include "store/engines/sqlite_log.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <QFile>
#include <QFileInfo>

#include <sys/stat.h>

#include <algorithm>
#include <mutex>
#include <set>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

namespace {

constexpr std::int64_t kLookedAt = 5000;

std::optional<struct stat> statusOf(const std::string& path)
{
    struct stat status { };
    return ::stat(path.c_str(), &status) == 0 ? std::optional(status) : std::nullopt;
}

std::optional<std::pair<std::uint64_t, std::uint64_t>> fileAt(const std::string& path)
{
    const auto status = statusOf(path);
    return status ? std::optional(std::pair<std::uint64_t, std::uint64_t>(status->st_dev, status->st_ino)) : std::nullopt;
}

std::pair<std::int64_t, std::int64_t> writtenAt(const std::string& path)
{
    const auto status = statusOf(path);
    return status ? std::pair<std::int64_t, std::int64_t>(status->st_mtim.tv_sec * 1'000'000'000 + status->st_mtim.tv_nsec, status->st_size)
                  : std::pair<std::int64_t, std::int64_t>();
}

/// What the first bytes say, since SQLite opens any file.
Done checkHeader(const std::string& path)
{
    QFile file(QString::fromStdString(path));
    if (!file.exists())
        return base::fault(FaultKind::NotFound, "there is no registry at %1; found one with init, or name another with --registry", path);
    if (QFileInfo(file).isDir())
        return base::fault(FaultKind::BadInput, "%1 is a folder; name the registry file in it", path);
    if (!file.open(QIODevice::ReadOnly))
        return base::fault(FaultKind::Io, "%1 cannot be read; check its rights", path);
    if (file.read(16) != QByteArray("SQLite format 3\0", 16))
        return base::fault(FaultKind::Damaged, "%1 is not a registry; name a file that init made", path);
    return checkLog(path);
}

/// The files that this process has open; a process has one set of locks on a file.
struct OpenFiles {
    std::mutex mutex;
    std::multiset<std::pair<std::uint64_t, std::uint64_t>> files; ///< by device and inode
};
OpenFiles& openFiles()
{
    static OpenFiles files; // as the locks are
    return files;
}

Fault overwritten(const std::string& path)
{
    return base::fault(FaultKind::Damaged,
        "%1 was overwritten with another file while it was open; nothing was stored. Keep it as it is, restore the newest backup, then open that",
        path);
}

} // namespace

SqlitePlace::SqlitePlace(std::string path) : m_path(std::move(path)), m_file(fileAt(m_path)), m_written(writtenAt(m_path))
{
    if (!m_file)
        return;
    OpenFiles& open = openFiles();
    const std::lock_guard lock(open.mutex);
    open.files.insert(*m_file);
    m_openHere.reset(new File(*m_file));
}

void SqlitePlace::Forget::operator()(const File* file) const
{
    {
        OpenFiles& open = openFiles();
        const std::lock_guard lock(open.mutex);
        open.files.erase(open.files.find(*file));
    }
    delete file;
}

base::Result<SqlitePlace> SqlitePlace::enter(const std::string& path)
{
    OpenFiles& open = openFiles();
    SqlitePlace place;
    const std::lock_guard lock(open.mutex); // another thread may not lock what is closed here
    const auto file = fileAt(path);
    if (!file || !open.files.contains(*file))
        if (const Done header = checkHeader(path); !header)
            return header.error();
    if (!file)
        return base::fault(FaultKind::NotFound, "there is no registry at %1; found one with init, or name another with --registry", path);
    place.m_path = path;
    place.m_file = file;
    place.m_written = writtenAt(path);
    open.files.insert(*file);
    place.m_openHere.reset(new File(*file));
    return place;
}

bool SqlitePlace::isReplaced() const
{
    return m_file && fileAt(m_path) != m_file;
}

Done SqlitePlace::check() const
{
    if (!m_file)
        return {};
    const auto file = fileAt(m_path);
    if (!file)
        return base::fault(FaultKind::NotFound,
            "%1 was removed or renamed while it was open; nothing was stored. Put the file back or restore a backup, then open it again",
            m_path);
    if (file != m_file)
        return base::fault(FaultKind::Damaged,
            "%1: the registry's file was replaced while it was open; nothing was stored. Close every program that has it open, then open it and check that it is the right one",
            m_path);
    // The log is deleted by the last one that closes the registry, which is never another than this one.
    if ((m_log && fileAt(m_path + "-wal") != m_log) || (m_shared && fileAt(m_path + "-shm") != m_shared))
        return base::fault(FaultKind::Damaged,
            "%1: the files beside the registry (-wal, -shm) were removed or replaced while it was open; nothing was stored. Close every program that has it open, then open it again and run verify",
            m_path);
    return {};
}

Done SqlitePlace::checkCloser(Session& session)
{
    if (!m_file)
        return {};
    if (!m_log) {
        m_log = fileAt(m_path + "-wal"); // both stand, since the write lock is held in them
        m_shared = fileAt(m_path + "-shm");
    }
    if (const Done there = check(); !there)
        return there;
    const auto written = writtenAt(m_path);
    if (written != m_written && m_newest)
        if (const Done same = readAnew(); !same)
            return same;
    if (written == m_written && m_newest)
        return {};
    const auto founding = entryAt(session, { 1 });
    const auto newest = headOf(session);
    if (!founding || !newest)
        return founding ? newest.error() : founding.error();
    if (*founding) {
        m_founding = Entry { { 1 }, (*founding)->digest };
        m_newest = Entry { newest->seq, newest->digest };
    }
    m_written = written;
    return {};
}

/// By a connection of its own: this one's pages are those that it read before.
Done SqlitePlace::readAnew() const
{
    const auto other = SqliteEngine::open(m_path, Session::Access::ReadOnly);
    if (!other)
        return other.error();
    for (const auto& known : { *m_founding, *m_newest }) {
        const auto entry = entryAt(**other, known.seq);
        if (!entry)
            return entry.error();
        if (!*entry || (*entry)->digest != known.digest)
            return overwritten(m_path);
    }
    // Of a copy laid over it, the log still shows the newest pages, and those in between are the older ones'.
    std::int64_t entries = 0;
    const std::int64_t from = std::max<std::int64_t>(0, m_newest->seq.value - kLookedAt);
    static const Sql sql({ store::Entry::table }, "SELECT count(*) AS entries FROM journal WHERE seq > :before AND seq <= :newest");
    const Done counted = eachRow(
        **other, sql, { { "before", bound(from) }, { "newest", bound(m_newest->seq.value) } }, [&](const Statement& row) {
            entries = row.number("entries");
            return Done();
        });
    if (!counted)
        return counted.error();
    return entries == m_newest->seq.value - from ? Done() : Done(overwritten(m_path));
}

} // namespace mk::store
