// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/copy_files.h"

#include <QDateTime>
#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QString>
#include <QUuid>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <unistd.h>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

namespace {

constexpr const char* kLogs[] = { "-wal", "-journal" };
constexpr qint64 kPiece = 1024 * 1024;

QString qPath(const std::string& path)
{
    return QString::fromStdString(path);
}

Fault faultOf(const std::string& path, int error)
{
    const FaultKind kind = error == ENOSPC || error == EDQUOT || error == EFBIG ? FaultKind::Full : FaultKind::Io;
    return base::fault(
        kind, "%1 cannot be written (%2); make room or check the rights of its folder, then try again", path, std::strerror(error));
}

Done syncPath(const std::string& path, int flags)
{
    const int file = ::open(path.c_str(), flags | O_CLOEXEC);
    if (file < 0)
        return faultOf(path, errno);
    const int error = ::fsync(file) == 0 ? 0 : errno;
    ::close(file);
    return error == 0 || error == EINVAL ? Done() : Done(faultOf(path, error)); // some network disks cannot sync a folder
}

Done copyBytes(const std::string& from, const std::string& to)
{
    QFile in(qPath(from));
    if (!in.open(QIODevice::ReadOnly))
        return base::fault(FaultKind::Io, "%1 cannot be read; check its rights", from);
    QFile out(qPath(to));
    if (!out.open(QIODevice::WriteOnly | QIODevice::NewOnly | QIODevice::Unbuffered))
        return faultOf(to, errno);
    out.setPermissions(QFile::ReadOwner | QFile::WriteOwner);
    while (!in.atEnd()) {
        const QByteArray piece = in.read(kPiece);
        if (piece.isEmpty())
            return base::fault(FaultKind::Io, "%1 cannot be read to its end; check the disk it lies on", from);
        errno = 0;
        if (out.write(piece) != piece.size())
            return faultOf(to, errno == 0 ? ENOSPC : errno);
    }
    return {};
}

} // namespace

std::string fileName(const std::string& path)
{
    return QFileInfo(qPath(path)).fileName().toStdString();
}

std::string nameBeside(const std::string& path, const std::string& ending)
{
    std::string name = path + ending;
    for (int i = 2; QFileInfo::exists(qPath(name)); ++i)
        name = path + ending + "-" + std::to_string(i);
    return name;
}

Done settleFolder(const std::string& file)
{
    return syncPath(QFileInfo(qPath(file)).absolutePath().toStdString(), O_RDONLY | O_DIRECTORY);
}

StagedFile::StagedFile(const std::string& place)
    : m_path(place + "." + QUuid::createUuid().toString(QUuid::Id128).toStdString().substr(0, 12) + ".copying")
{
    // What one that was ended a day ago left behind.
    const QFileInfo info(qPath(place));
    const QDateTime dayAgo = QDateTime::currentDateTime().addDays(-1);
    for (const QFileInfo& left :
        QDir(info.absolutePath()).entryInfoList({ info.fileName() + QStringLiteral(".????????????.copying*") }, QDir::Files))
        if (left.lastModified() < dayAgo)
            QFile::remove(left.filePath());
}

StagedFile::~StagedFile()
{
    if (!m_there)
        return;
    for (const char* ending : { "", "-wal", "-shm", "-journal" })
        QFile::remove(qPath(m_path + ending));
}

Done StagedFile::copyFrom(const std::string& file)
{
    if (const Done copied = copyBytes(file, m_path); !copied)
        return copied;
    for (const char* log : kLogs)
        if (QFileInfo(qPath(file + log)).size() > 0)
            if (const Done copied = copyBytes(file + log, m_path + log); !copied)
                return copied;
    return {};
}

Done StagedFile::settle()
{
    for (const char* ending : { "-wal", "-shm", "-journal" })
        QFile::remove(qPath(m_path + ending)); // empty by now: the log was folded in
    return syncPath(m_path, O_RDONLY);
}

Done StagedFile::putAt(const std::string& place)
{
    if (const Done settled = settle(); !settled)
        return settled;
    if (::link(m_path.c_str(), place.c_str()) == 0) {
        ::unlink(m_path.c_str());
    } else if (errno == EEXIST || QFileInfo::exists(qPath(place))) {
        return base::fault(FaultKind::Conflict, "%1 exists already; name a path where nothing is", place);
    } else if (::rename(m_path.c_str(), place.c_str()) != 0) { // a disk without second names
        return faultOf(place, errno);
    }
    m_there = false;
    return settleFolder(place);
}

Done StagedFile::putInPlaceOf(const std::string& place)
{
    if (const Done settled = settle(); !settled)
        return settled;
    if (::rename(m_path.c_str(), place.c_str()) != 0)
        return faultOf(place, errno);
    m_there = false;
    return settleFolder(place);
}

Done keepAlso(const std::string& file, const std::string& name)
{
    if (::link(file.c_str(), name.c_str()) == 0)
        return settleFolder(name);
    if (errno == EEXIST)
        return base::fault(FaultKind::Conflict, "%1 exists already; try again", name);
    if (const Done copied = copyBytes(file, name); !copied)
        return copied;
    if (const Done synced = syncPath(name, O_RDONLY); !synced)
        return synced;
    return settleFolder(name);
}

Done setLogsAside(const std::string& file, const std::string& kept)
{
    bool any = false;
    for (const char* log : kLogs) {
        const std::string from = file + log;
        if (!QFileInfo::exists(qPath(from)))
            continue;
        any = true;
        if (::rename(from.c_str(), (kept + log).c_str()) != 0)
            return faultOf(kept + log, errno);
    }
    QFile::remove(qPath(file + "-shm")); // made anew from the log by whoever opens it
    return any ? settleFolder(file) : Done();
}

} // namespace mk::store
