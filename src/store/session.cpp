// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/session.h"

#include "store/address.h"
#include "store/engine.h"
#include "store/engines/postgresql.h"
#include "store/engines/sqlite.h"

#include <QSqlDriver>
#include <QSqlError>
#include <QSqlRecord>
#include <QTemporaryDir>

#include <algorithm>

namespace mk::store {

using base::Done;

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
        return m_session->faultOf(m_query->lastError());
    return {};
}

Done Statement::finished()
{
    const QSqlError error = m_query->lastError();
    m_query->finish();
    return error.isValid() ? Done(m_session->faultOf(error)) : Done();
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

Session::Session(std::string path, QString connection, std::unique_ptr<Engine> engine)
    : m_path(std::move(path)), m_connection(std::move(connection)), m_engine(std::move(engine))
{
}

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
    return SqliteEngine::newestSchema();
}

base::Result<std::unique_ptr<Session>> Session::create(const std::string& place, const PasswordSource& password)
{
    const auto address = Address::parse(place);
    if (!address)
        return address.error();
    return address->isServer() ? PostgresqlEngine::create(*address, password) : SqliteEngine::create(address->file);
}

base::Result<std::unique_ptr<Session>> Session::open(const std::string& place, Access access, const PasswordSource& password)
{
    const auto address = Address::parse(place);
    if (!address)
        return address.error();
    return address->isServer() ? PostgresqlEngine::open(*address, access, password) : SqliteEngine::open(address->file, access);
}

base::Result<std::unique_ptr<Session>> Session::scratch()
{
    return SqliteEngine::scratch();
}

bool Session::isServer() const
{
    return m_engine->isServer();
}

QSqlDatabase Session::database() const
{
    return QSqlDatabase::database(m_connection, false);
}

base::Fault Session::faultOf(const QSqlError& error) const
{
    base::Fault fault = m_engine->fault(error, m_path);
    m_lost = m_lost || fault.kind == base::FaultKind::Unreachable;
    return fault;
}

base::Result<Statement> Session::prepared(const char* sql, bool forwardOnly)
{
    auto found = m_statements.find(sql);
    if (found == m_statements.end()) {
        QSqlQuery query(database());
        query.setForwardOnly(forwardOnly);
        if (!query.prepare(QString::fromUtf8(sql)))
            return faultOf(query.lastError());
        const int parameters = static_cast<int>(std::count(sql, sql + std::char_traits<char>::length(sql), '?'));
        found = m_statements.emplace(sql, Prepared { std::move(query), parameters }).first;
    }
    return Statement(this, &found->second.query, found->second.parameters);
}

base::Result<Statement> Session::statement(const char* sql)
{
    return prepared(sql, !m_engine->keepsOpenResults());
}

base::Result<Statement> Session::streamed(const char* sql)
{
    return prepared(sql, true);
}

Done Session::execute(const char* sql, const QVariantList& values)
{
    auto query = statement(sql);
    if (!query)
        return query.error();
    if (const Done ran = query->run(values); !ran)
        return ran;
    query->m_query->finish();
    return {};
}

Done Session::runText(const QString& sql)
{
    QSqlQuery query(database());
    if (!query.exec(sql))
        return faultOf(query.lastError());
    if (isServer())
        while (query.nextResult()) // the driver tells of the first statement only, until it is asked for the next
            ;
    return query.lastError().isValid() ? Done(faultOf(query.lastError())) : Done();
}

Done Session::control(const char* sql)
{
    return m_engine->preparesControl() ? execute(sql) : runText(QString::fromUtf8(sql));
}

Done Session::begin()
{
    const Done done = control(m_engine->beginWrite());
    if (!done && isServer())
        rollBack(); // the transaction may stand, without its lock
    if (!done)
        return done;
    const Done same = m_engine->sameRegistry(*this);
    if (!same) {
        rollBack();
        m_engine->letGo(*this);
    }
    return same;
}

Done Session::beginRead()
{
    return control(m_engine->beginRead());
}

Done Session::commit()
{
    const Done done = control("COMMIT");
    if (!done)
        return done;
    const Done there = m_engine->inPlace(); // stored in a file that is no longer the registry's is not stored
    if (!there)
        m_engine->letGo(*this);
    return there;
}

void Session::rollBack()
{
    static_cast<void>(control("ROLLBACK")); // after a full disk SQLite may have rolled back by itself
}

Done Session::reconnect()
{
    if (!isServer())
        return {};
    m_statements.clear();
    m_lost = false;
    const Done back = static_cast<PostgresqlEngine&>(*m_engine).openAgain(*this);
    m_lost = !back;
    return back;
}

QSqlDriver* Session::listen()
{
    if (!isServer())
        return nullptr;
    QSqlDriver* driver = database().driver();
    if (!driver->subscribedToNotifications().contains(PostgresqlEngine::kChannel))
        driver->subscribeToNotification(PostgresqlEngine::kChannel);
    return driver;
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
