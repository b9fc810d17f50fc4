// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/session.h"

#include "store/migrations.h"

#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QSqlDatabase>
#include <QSqlError>
#include <QSqlRecord>
#include <QTemporaryDir>
#include <QUrl>
#include <QUuid>

#include <algorithm>

namespace mk::store {

namespace {

using base::Done;
using base::Fault;
using base::FaultKind;

constexpr std::int64_t kApplicationId = 0x4d746b70; // "Mtkp"
constexpr int kBusyTimeoutMs = 10'000;

Fault sqlFault(const QSqlError& error, const std::string& path)
{
    const int code = error.nativeErrorCode().toInt();
    switch (code & 0xff) {
    case 5:
    case 6: return { FaultKind::Busy, path + " is locked by another program; try again when that one is done" };
    case 8: return { FaultKind::ReadOnly, path + " cannot be written; nothing was stored. Check the rights of the file and its folder" };
    case 10: return { FaultKind::Io, "the disk that holds " + path + " answered with an error; nothing was stored. Check the disk, then try again" };
    case 11:
    case 26: return { FaultKind::Damaged, path + " is damaged or no registry; keep it as it is and restore a backup" };
    case 13: return { FaultKind::Full, "the disk that holds " + path + " is full; nothing was stored. Make room and try again" };
    case 14: return { FaultKind::Io, path + " cannot be opened; check the path and the rights of its folder" };
    case 1: return { FaultKind::Damaged, path + " lacks a part that a registry has (" + error.databaseText().toStdString() + "); run verify" };
    case 19: return { FaultKind::Damaged, path + " refused an entry: " + error.databaseText().toStdString() };
    default: return { FaultKind::Io, path + ": " + error.databaseText().toStdString() + " (SQLite " + std::to_string(code) + ")" };
    }
}

/// What the first bytes say, since SQLite opens any file.
Done checkHeader(const std::string& path)
{
    QFile file(QString::fromStdString(path));
    if (!file.exists())
        return Fault { FaultKind::NotFound, "there is no registry at " + path + "; found one with init, or name another with --registry" };
    if (QFileInfo(file).isDir())
        return Fault { FaultKind::BadInput, path + " is a folder; name the registry file in it" };
    if (!file.open(QIODevice::ReadOnly))
        return Fault { FaultKind::Io, path + " cannot be read; check its rights" };
    if (file.read(16) != QByteArray("SQLite format 3\0", 16))
        return Fault { FaultKind::Damaged, path + " is not a registry; name a file that init made" };
    return {};
}

} // namespace

QVariant bound(const std::string& text)
{
    // An empty text is stored as a text: a null QString would become NULL.
    return text.empty() ? QVariant(QStringLiteral("")) : QVariant(QString::fromStdString(text));
}

QVariant bound(std::int64_t number)
{
    return QVariant(static_cast<qlonglong>(number));
}

Done Statement::run(const QVariantList& values)
{
    assert(values.size() == m_parameters);
    for (int i = 0; i < values.size(); ++i)
        m_query->bindValue(i, values[i]);
    if (!m_query->exec())
        return sqlFault(m_query->lastError(), "the registry");
    return {};
}

Done Statement::finished()
{
    const QSqlError error = m_query->lastError();
    m_query->finish();
    return error.isValid() ? Done(sqlFault(error, "the registry")) : Done();
}

int Statement::columns() const
{
    return m_query->record().count();
}

std::optional<std::string> Statement::textOr(int column) const
{
    const QVariant value = m_query->value(column);
    return value.isNull() ? std::nullopt : std::optional(value.toString().toStdString());
}

std::optional<std::int64_t> Statement::numberOr(int column) const
{
    const QVariant value = m_query->value(column);
    return value.isNull() ? std::nullopt : std::optional<std::int64_t>(value.toLongLong());
}

std::optional<double> Statement::realOr(int column) const
{
    const QVariant value = m_query->value(column);
    return value.isNull() ? std::nullopt : std::optional(value.toDouble());
}

Session::Session(std::string path, QString connection) : m_path(std::move(path)), m_connection(std::move(connection)) { }

Session::~Session()
{
    m_statements.clear();
    {
        QSqlDatabase database = QSqlDatabase::database(m_connection, false);
        database.close();
    }
    QSqlDatabase::removeDatabase(m_connection);
}

int Session::newestSchema()
{
    return sqliteMigrations().back().version;
}

base::Result<std::unique_ptr<Session>> Session::connect(const std::string& path, Access access, bool isFile)
{
    const QString name = QUuid::createUuid().toString(QUuid::WithoutBraces);
    QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), name);
    if (!database.isValid())
        return Fault { FaultKind::Io, "the SQLite driver of Qt is missing; install the package libqt6sql6-sqlite" };
    std::unique_ptr<Session> session(new Session(path, name));
    // A registry that may not be written and has no log beside it is opened as one that nobody changes: SQLite could not share its log.
    const bool still = isFile && access == Access::ReadOnly && QFileInfo(QString::fromStdString(path + "-wal")).size() == 0;
    QString target = isFile ? QString::fromStdString(path) : QStringLiteral(":memory:");
    if (still)
        target = QUrl::fromLocalFile(QFileInfo(target).absoluteFilePath()).toString(QUrl::FullyEncoded) + QStringLiteral("?immutable=1");
    database.setDatabaseName(target);
    QString options = QStringLiteral("QSQLITE_BUSY_TIMEOUT=%1").arg(kBusyTimeoutMs);
    if (access == Access::ReadOnly)
        options += QStringLiteral(";QSQLITE_OPEN_READONLY;QSQLITE_OPEN_URI");
    database.setConnectOptions(options);
    const bool opened = database.open();
    const QSqlError error = database.lastError();
    database = QSqlDatabase(); // the session is the only one that holds it
    if (!opened)
        return sqlFault(error, path);
    for (const char* pragma : { "PRAGMA foreign_keys=ON", "PRAGMA recursive_triggers=ON", "PRAGMA synchronous=FULL", "PRAGMA temp_store=MEMORY", "PRAGMA cache_size=-32768", "PRAGMA wal_autocheckpoint=4000" })
        if (const Done done = session->execute(pragma); !done)
            return done.error();
    return session;
}

base::Result<std::unique_ptr<Session>> Session::create(const std::string& path)
{
    QFile file(QString::fromStdString(path));
    if (!file.open(QIODevice::WriteOnly | QIODevice::NewOnly)) {
        if (file.exists())
            return Fault { FaultKind::Conflict, path + " exists already; name a path where nothing is" };
        return Fault { FaultKind::Io, path + " cannot be made; check that its folder exists and may be written" };
    }
    file.close();
    auto session = connect(path, Access::ReadWrite, true);
    Done done = session ? Done() : Done(session.error());
    if (done)
        done = (*session)->execute("PRAGMA journal_mode=WAL");
    if (done)
        done = (*session)->migrate(0);
    if (done)
        return session;
    if (session)
        session->reset();
    QFile::remove(QString::fromStdString(path)); // it holds nothing yet, and it was made here
    return done.error();
}

base::Result<std::unique_ptr<Session>> Session::open(const std::string& path, Access access)
{
    if (const Done header = checkHeader(path); !header)
        return header.error();
    // Without the right to write beside the file, SQLite cannot share a WAL with writers.
    const QFileInfo info(QString::fromStdString(path));
    const bool writable = info.isWritable() && QFileInfo(info.absolutePath()).isWritable();
    if (access == Access::ReadWrite && !writable)
        return Fault { FaultKind::ReadOnly, path + " cannot be written; nothing was stored. Check the rights of the file and its folder" };
    auto session = connect(path, writable ? Access::ReadWrite : Access::ReadOnly, true);
    if (!session)
        return session.error();
    if (const Done checked = (*session)->checkFormat(); !checked)
        return checked.error();
    const auto version = (*session)->schema();
    if (!version)
        return version.error();
    if (*version < newestSchema()) {
        if (!writable)
            return openMigratedCopy(**session, *version);
        if (const Done migrated = (*session)->migrate(static_cast<int>(*version)); !migrated)
            return migrated.error();
    }
    // A restored copy may have lost the mode in which readers and a writer do not wait for each other.
    if (access == Access::ReadWrite)
        if (const Done mode = (*session)->execute("PRAGMA journal_mode=WAL"); !mode)
            return mode.error();
    return session;
}

base::Result<std::unique_ptr<Session>> Session::scratch()
{
    auto session = connect("scratch", Access::ReadWrite, false);
    if (!session)
        return session.error();
    if (const Done migrated = (*session)->migrate(0); !migrated)
        return migrated.error();
    return session;
}

base::Result<std::int64_t> Session::pragma(const char* sql)
{
    auto query = statement(sql);
    if (!query)
        return query.error();
    if (const Done ran = query->run({}); !ran)
        return ran.error();
    const std::int64_t value = query->next() ? query->number(0) : 0;
    if (const Done done = query->finished(); !done)
        return done.error();
    return value;
}

base::Result<std::int64_t> Session::schema()
{
    return pragma("PRAGMA user_version");
}

Done Session::checkFormat()
{
    const auto application = pragma("PRAGMA application_id");
    if (!application)
        return application.error();
    if (*application != kApplicationId)
        return Fault { FaultKind::Damaged, m_path + " is a database, but not a registry; name a file that init made" };
    const auto version = schema();
    if (!version)
        return version.error();
    if (*version > newestSchema())
        return Fault { FaultKind::NewerFormat,
            m_path + " was written by a later version of Meterkeep (schema " + std::to_string(*version) + ", known here " + std::to_string(newestSchema())
                + "); it was not touched. Update this program" };
    return {};
}

/// A registry of an earlier version where nothing may be written: read from a private copy that is brought up to date.
base::Result<std::unique_ptr<Session>> Session::openMigratedCopy(Session& original, std::int64_t version)
{
    auto folder = std::make_unique<QTemporaryDir>();
    const QString copy = folder->filePath(QStringLiteral("copy.mkr"));
    if (!folder->isValid())
        return Fault { FaultKind::Io, original.m_path + " was written by an earlier version and is read from a copy, which cannot be made in " + QDir::tempPath().toStdString() };
    {
        auto query = original.statement("VACUUM INTO ?");
        if (!query)
            return query.error();
        if (const Done copied = query->run({ copy }); !copied)
            return copied.error();
        if (const Done done = query->finished(); !done)
            return done.error();
    }
    auto session = connect(copy.toStdString(), Access::ReadWrite, true);
    if (!session)
        return session.error();
    if (const Done migrated = (*session)->migrate(static_cast<int>(version)); !migrated)
        return migrated.error();
    (*session)->m_path = original.m_path;
    (*session)->m_copy = std::move(folder);
    return session;
}

Done Session::migrate(int from)
{
    for (const auto& migration : sqliteMigrations())
        if (migration.version > from)
            if (const Done applied = applyMigration(migration.version); !applied)
                return applied;
    return {};
}

Done Session::applyMigration(int version)
{
    const auto migrations = sqliteMigrations();
    const auto migration = std::ranges::find(migrations, version, &Migration::version);
    Transaction transaction(*this);
    if (const Done begun = transaction.begin(); !begun)
        return begun;
    QSqlQuery query(QSqlDatabase::database(m_connection, false));
    QStringList statements = QString::fromUtf8(migration->sql.data(), static_cast<qsizetype>(migration->sql.size())).split(QStringLiteral("\n-- next\n"));
    statements << QStringLiteral("PRAGMA application_id = %1").arg(kApplicationId) << QStringLiteral("PRAGMA user_version = %1").arg(version);
    for (const QString& sql : statements)
        if (!query.exec(sql))
            return sqlFault(query.lastError(), m_path);
    return transaction.commit();
}

base::Result<Statement> Session::statement(const char* sql)
{
    auto found = m_statements.find(sql);
    if (found == m_statements.end()) {
        QSqlQuery query(QSqlDatabase::database(m_connection, false));
        query.setForwardOnly(true);
        if (!query.prepare(QString::fromUtf8(sql)))
            return sqlFault(query.lastError(), m_path);
        const int parameters = static_cast<int>(std::count(sql, sql + std::char_traits<char>::length(sql), '?'));
        found = m_statements.emplace(sql, Prepared { std::move(query), parameters }).first;
    }
    return Statement(&found->second.query, found->second.parameters);
}

Done Session::execute(const char* sql, const QVariantList& values)
{
    auto prepared = statement(sql);
    if (!prepared)
        return prepared.error();
    if (const Done ran = prepared->run(values); !ran)
        return Fault { ran.error().kind, ran.error().text };
    prepared->m_query->finish();
    return {};
}

Done Session::begin()
{
    return execute("BEGIN IMMEDIATE");
}

Done Session::beginRead()
{
    return execute("BEGIN");
}

Done Session::commit()
{
    return execute("COMMIT");
}

void Session::rollBack()
{
    static_cast<void>(execute("ROLLBACK")); // after a full disk SQLite may have rolled back by itself
}

Done Transaction::begin()
{
    const Done begun = m_session->begin();
    m_open = static_cast<bool>(begun);
    return begun;
}

Done Transaction::commit()
{
    const Done done = m_session->commit();
    if (done)
        m_open = false;
    return done;
}

} // namespace mk::store
