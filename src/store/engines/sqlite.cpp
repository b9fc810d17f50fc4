// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/engines/sqlite.h"

#include "store/db/migrations.h"
#include "store/db/rows.h"

#include <QDir>
#include <QElapsedTimer>
#include <QFile>
#include <QFileInfo>
#include <QSqlDatabase>
#include <QSqlError>
#include <QTemporaryDir>
#include <QThread>
#include <QUrl>
#include <QUuid>

#include <algorithm>
#include <map>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;

namespace {

constexpr std::int64_t kApplicationId = 0x4d746b70; // "Mtkp"
constexpr int kBusyTimeoutMs = 10'000;

/// Every table, index and trigger with its text.
base::Result<std::map<std::string, std::string>> schemaOf(Session& session)
{
    std::map<std::string, std::string> parts;
    const Done read = eachRow(
        session, "SELECT type || ' ' || name AS part, sql FROM sqlite_master WHERE sql IS NOT NULL", {}, [&](const Statement& row) {
            parts[row.text("part")] = row.text("sql");
            return Done();
        });
    if (!read)
        return read.error();
    return parts;
}

} // namespace

Fault SqliteEngine::fault(const QSqlError& error, const base::Arg& path) const
{
    const int code = error.nativeErrorCode().toInt();
    switch (code & 0xff) {
    case 5:
    case 6: return base::fault(FaultKind::Busy, "%1 is locked by another program; try again when that one is done", path);
    case 8:
        return base::fault(
            FaultKind::ReadOnly, "%1 cannot be written; nothing was stored. Check the rights of the file and its folder", path);
    case 10:
        return base::fault(
            FaultKind::Io, "the disk that holds %1 answered with an error; nothing was stored. Check the disk, then try again", path);
    case 11:
    case 26: return base::fault(FaultKind::Damaged, "%1 is damaged or no registry; keep it as it is and restore a backup", path);
    case 13: return base::fault(FaultKind::Full, "the disk that holds %1 is full; nothing was stored. Make room and try again", path);
    case 14: return base::fault(FaultKind::Io, "%1 cannot be opened; check the path and the rights of its folder", path);
    case 1:
        return base::fault(
            FaultKind::Damaged, "%1 lacks a part that a registry has (%2); run verify", path, error.databaseText().toStdString());
    case 19: return base::fault(FaultKind::Damaged, "%1 refused an entry: %2", path, error.databaseText().toStdString());
    default: return base::fault(FaultKind::Io, "%1: %2 (SQLite %3)", path, error.databaseText().toStdString(), code);
    }
}

int SqliteEngine::newestSchema()
{
    return sqliteMigrations().back().version;
}

base::Result<std::unique_ptr<Session>> SqliteEngine::connect(const std::string& path, Session::Access access, bool isFile)
{
    const QString name = QUuid::createUuid().toString(QUuid::WithoutBraces);
    QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), name);
    if (!database.isValid())
        return base::fault(FaultKind::Io, "the SQLite driver of Qt is missing; install the package libqt6sql6-sqlite");
    std::unique_ptr<Session> session(new Session(path, name, std::make_unique<SqliteEngine>()));
    // A registry that may not be written and has no log beside it is opened as one that nobody changes: SQLite could not share its log.
    const bool still = isFile && access == Session::Access::ReadOnly && QFileInfo(QString::fromStdString(path + "-wal")).size() == 0;
    QString target = isFile ? QString::fromStdString(path) : QStringLiteral(":memory:");
    if (still)
        target = QUrl::fromLocalFile(QFileInfo(target).absoluteFilePath()).toString(QUrl::FullyEncoded) + QStringLiteral("?immutable=1");
    database.setDatabaseName(target);
    QString options = QStringLiteral("QSQLITE_BUSY_TIMEOUT=%1").arg(kBusyTimeoutMs);
    if (access == Session::Access::ReadOnly)
        options += QStringLiteral(";QSQLITE_OPEN_READONLY;QSQLITE_OPEN_URI");
    database.setConnectOptions(options);
    const bool opened = database.open();
    const QSqlError error = database.lastError();
    database = QSqlDatabase(); // the session is the only one that holds it
    if (!opened)
        return session->faultOf(error);
    for (const char* pragma : { "PRAGMA foreign_keys=ON", "PRAGMA recursive_triggers=ON", "PRAGMA synchronous=FULL",
             "PRAGMA temp_store=MEMORY", "PRAGMA cache_size=-32768", "PRAGMA wal_autocheckpoint=4000" })
        if (const Done done = session->execute(pragma); !done)
            return done.error();
    return session;
}

base::Result<std::unique_ptr<Session>> SqliteEngine::create(const std::string& path)
{
    QFile file(QString::fromStdString(path));
    if (!file.open(QIODevice::WriteOnly | QIODevice::NewOnly)) {
        if (file.exists())
            return base::fault(FaultKind::Conflict, "%1 exists already; name a path where nothing is", path);
        return base::fault(FaultKind::Io, "%1 cannot be made; check that its folder exists and may be written", path);
    }
    file.close();
    auto session = connect(path, Session::Access::ReadWrite, true);
    Done done = session ? Done() : Done(session.error());
    if (done)
        done = (*session)->execute("PRAGMA journal_mode=WAL");
    if (done)
        done = migrate(**session, 0);
    if (done) {
        settle(**session, SqlitePlace(path));
        return session;
    }
    if (session)
        session->reset();
    QFile::remove(QString::fromStdString(path)); // it holds nothing yet, and it was made here
    return done.error();
}

base::Result<std::unique_ptr<Session>> SqliteEngine::open(const std::string& path, Session::Access access)
{
    auto place = SqlitePlace::enter(path); // before the session, so that it goes after it
    if (!place)
        return place.error();
    // Without the right to write beside the file, SQLite cannot share a WAL with writers.
    const QFileInfo info(QString::fromStdString(path));
    const bool writable = info.isWritable() && QFileInfo(info.absolutePath()).isWritable();
    if (access == Session::Access::ReadWrite && !writable)
        return base::fault(
            FaultKind::ReadOnly, "%1 cannot be written; nothing was stored. Check the rights of the file and its folder", path);
    auto session = connect(path, writable ? Session::Access::ReadWrite : Session::Access::ReadOnly, true);
    if (!session)
        return session.error();
    if (const Done checked = checkFormat(**session); !checked)
        return checked.error();
    const auto version = pragma(**session, "PRAGMA user_version");
    if (!version)
        return version.error();
    if (*version < newestSchema()) {
        if (!writable)
            return openMigratedCopy(**session, *version);
        if (const Done migrated = migrate(**session, static_cast<int>(*version)); !migrated)
            return migrated.error();
    }
    // A restored copy may have lost the mode in which readers and a writer do not wait for each other.
    if (access == Session::Access::ReadWrite)
        if (const Done mode = (*session)->execute("PRAGMA journal_mode=WAL"); !mode)
            return mode.error();
    settle(**session, std::move(*place));
    return session;
}

base::Result<std::unique_ptr<Session>> SqliteEngine::look(const std::string& path, Session::Access access)
{
    auto place = SqlitePlace::enter(path); // before the session, so that it goes after it
    if (!place)
        return place.error();
    auto session = connect(path, access, true);
    if (!session)
        return session.error();
    if (const Done checked = checkFormat(**session); !checked)
        return checked.error();
    settle(**session, std::move(*place));
    return session;
}

/// SQLite's own wait looks at the lock ten times a second: one who writes set after set lets go of it for less than a millisecond in
/// between, and could keep another out for as long as it likes. So the look is taken often.
Done SqliteEngine::takeWriteLock(Session& session) const
{
    QElapsedTimer waited;
    waited.start();
    if (const Done brief = session.runText(QStringLiteral("PRAGMA busy_timeout=0")); !brief)
        return brief;
    Done begun = session.control("BEGIN IMMEDIATE");
    while (!begun && begun.error().kind == FaultKind::Busy && waited.elapsed() < kBusyTimeoutMs) {
        QThread::msleep(1);
        begun = session.control("BEGIN IMMEDIATE");
    }
    static_cast<void>(session.runText(QStringLiteral("PRAGMA busy_timeout=%1").arg(kBusyTimeoutMs))); // it sets a number of the connection
    return begun;
}

Done SqliteEngine::checkPages(Session& session)
{
    std::string said;
    const Done read = eachRow(session, "PRAGMA integrity_check(1)", {}, [&](const Statement& row) {
        said = row.text("integrity_check");
        return Done();
    });
    if (!read)
        return read;
    if (said != "ok")
        return base::fault(FaultKind::Damaged, "%1 is damaged (%2)", session.place(), said);
    return {};
}

Done SqliteEngine::foldLog(Session& session)
{
    std::string mode;
    const Done read = eachRow(session, "PRAGMA journal_mode=DELETE", {}, [&](const Statement& row) {
        mode = row.text("journal_mode");
        return Done();
    });
    if (!read)
        return read;
    if (mode != "delete")
        return base::fault(FaultKind::Busy, "%1 is open in another program", session.place());
    return {};
}

base::Result<std::unique_ptr<Session>> SqliteEngine::scratch()
{
    auto session = connect("scratch", Session::Access::ReadWrite, false);
    if (!session)
        return session.error();
    if (const Done migrated = migrate(**session, 0); !migrated)
        return migrated.error();
    return session;
}

base::Result<std::int64_t> SqliteEngine::pragma(Session& session, const char* sql)
{
    auto query = session.statement(sql);
    if (!query)
        return query.error();
    if (const Done ran = query->run({}); !ran)
        return ran.error();
    const std::int64_t value = query->next() ? query->number(0) : 0;
    if (const Done done = query->finished(); !done)
        return done.error();
    return value;
}

Done SqliteEngine::checkFormat(Session& session)
{
    const auto application = pragma(session, "PRAGMA application_id");
    if (!application)
        return application.error();
    if (*application != kApplicationId)
        return base::fault(FaultKind::Damaged, "%1 is a database, but not a registry; name a file that init made", session.place());
    const auto version = pragma(session, "PRAGMA user_version");
    if (!version)
        return version.error();
    if (*version > newestSchema())
        return base::fault(FaultKind::NewerFormat,
            "%1 was written by a later version of Meterkeep (schema %2, known here %3); it was not touched. Update this program",
            session.place(), *version, newestSchema());
    return {};
}

/// A registry of an earlier version where nothing may be written: read from a private copy that is brought up to date.
base::Result<std::unique_ptr<Session>> SqliteEngine::openMigratedCopy(Session& original, std::int64_t version)
{
    auto folder = std::make_unique<QTemporaryDir>();
    const QString copy = folder->filePath(QStringLiteral("copy.mkr"));
    if (!folder->isValid())
        return base::fault(FaultKind::Io, "%1 was written by an earlier version and is read from a copy, which cannot be made in %2",
            original.m_place, QDir::tempPath().toStdString());
    {
        auto query = original.statement("VACUUM INTO ?");
        if (!query)
            return query.error();
        if (const Done copied = query->run({ copy }); !copied)
            return copied.error();
        if (const Done done = query->finished(); !done)
            return done.error();
    }
    auto session = connect(copy.toStdString(), Session::Access::ReadWrite, true);
    if (!session)
        return session.error();
    if (const Done migrated = migrate(**session, static_cast<int>(version)); !migrated)
        return migrated.error();
    (*session)->m_place = original.m_place;
    (*session)->m_copy = std::move(folder);
    return session;
}

Done SqliteEngine::migrate(Session& session, int from)
{
    for (const auto& migration : sqliteMigrations()) {
        if (migration.version <= from)
            continue;
        Transaction transaction(session);
        if (const Done begun = transaction.begin(); !begun)
            return begun;
        QStringList statements = QString::fromUtf8(migration.sql.data(), static_cast<qsizetype>(migration.sql.size()))
                                     .split(QStringLiteral("\n-- next\n"));
        statements << QStringLiteral("PRAGMA application_id = %1").arg(kApplicationId)
                   << QStringLiteral("PRAGMA user_version = %1").arg(migration.version);
        for (const QString& sql : statements)
            if (const Done ran = session.runText(sql); !ran)
                return ran;
        if (const Done committed = transaction.commit(); !committed)
            return committed;
    }
    return {};
}

void SqliteEngine::settle(Session& session, SqlitePlace place)
{
    static_cast<SqliteEngine&>(*session.m_engine).m_place = std::move(place);
}

Done SqliteEngine::inPlace() const
{
    return m_place.check();
}

Done SqliteEngine::sameRegistry(Session& session)
{
    return m_place.checkCloser(session);
}

void SqliteEngine::letGo(Session& session)
{
    if (m_place.isReplaced())
        static_cast<void>(session.execute("PRAGMA wal_checkpoint(TRUNCATE)")); // into the file that is gone
}

base::Result<Engine::SchemaCheck> SqliteEngine::checkSchema(Session& session, Session& scratch) const
{
    const auto stored = schemaOf(session);
    const auto wanted = schemaOf(scratch);
    if (!stored || !wanted)
        return stored ? wanted.error() : stored.error();
    SchemaCheck check;
    // The rebuilt index is compared table by table; an SQL index or an unused page that is damaged misleads only those who search by it.
    const Done pages = eachRow(session, "PRAGMA integrity_check(1)", {}, [&](const Statement& row) {
        if (row.text("integrity_check") != "ok")
            check.differs.push_back(base::asTerm("pages of the file"));
        return Done();
    });
    if (!pages)
        check.differs.push_back(base::asTerm("pages of the file"));
    for (const auto& [name, sql] : *wanted)
        if (const auto found = stored->find(name); found == stored->end() || found->second != sql)
            check.differs.push_back(base::badInput("schema: %1", name));
    for (const auto& [name, sql] : *stored)
        if (!wanted->contains(name))
            check.unverified.push_back(name);
    return check;
}

} // namespace mk::store
