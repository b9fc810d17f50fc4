// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/session.h"

#include "store/db/address.h"
#include "store/db/engine.h"
#include "store/db/sql.h"

#include <QSqlDriver>
#include <QSqlError>
#include <QSqlField>
#include <QSqlRecord>
#include <QTemporaryDir>

#include <algorithm>

namespace mk::store {

using base::Done;

namespace {

constexpr qsizetype kMostWaiting = 256 << 10; ///< letters of statements that wait to be sent

base::Fault cannotBeRehearsed()
{
    return base::fault(base::FaultKind::Conflict, "this cannot be rehearsed");
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
    assert(values.size() == m_prepared->parameters);
    m_rows.reset();
    m_begun = false;
    if (m_session->mustSendBefore(m_declared)) {
        if (m_session->m_rehearsing)
            return cannotBeRehearsed();
        if (const Done sent = m_session->send(); !sent)
            return sent;
    }
    const auto same = [&](const Session::Remembered& each) { return each.sql == m_sql && each.values == values; };
    if (const auto known = std::ranges::find_if(m_session->m_remembered, same); known != m_session->m_remembered.end()) {
        m_rows = known->rows;
        return {};
    }
    for (int i = 0; i < values.size(); ++i)
        m_query->bindValue(i, values[i]);
    if (!m_query->exec())
        return m_session->faultOf(m_query->lastError());
    if (m_session->m_rehearsing) {
        auto rows = allRows();
        if (!rows)
            return rows.error();
        m_rows = std::move(rows).value();
        m_session->m_remembered.push_back({ m_sql, values, m_rows });
    }
    return {};
}

base::Result<std::shared_ptr<const Statement::Rows>> Statement::allRows()
{
    auto rows = std::make_shared<Rows>();
    const auto columns = static_cast<int>(columnNames().size());
    while (m_query->next()) {
        auto& row = rows->emplace_back();
        row.reserve(columns);
        for (int i = 0; i < columns; ++i)
            row << m_query->value(i);
    }
    const QSqlError error = m_query->lastError();
    m_query->finish();
    if (error.isValid())
        return m_session->faultOf(error);
    return std::shared_ptr<const Rows>(std::move(rows));
}

bool Statement::next()
{
    if (!m_rows)
        return m_query->next();
    m_row = m_begun ? m_row + 1 : 0;
    m_begun = true;
    return m_row < m_rows->size();
}

Done Statement::finished()
{
    QSqlError error;
    if (!m_rows) {
        error = m_query->lastError();
        m_query->finish();
    }
    if (error.isValid())
        return m_session->faultOf(error);
    if (!m_unknownColumn.empty())
        return base::fault(base::FaultKind::Damaged, "there is no column '%1' in %2", m_unknownColumn, m_sql);
    return {};
}

QVariant Statement::value(int column) const
{
    if (column < 0)
        return {};
    return m_rows ? m_rows->at(m_row).at(column) : m_query->value(column);
}

const std::vector<std::string>& Statement::columnNames() const
{
    auto& names = m_prepared->columns;
    if (!names.empty())
        return names;
    const QSqlRecord record = m_query->record();
    for (int i = 0; i < record.count(); ++i)
        names.push_back(record.fieldName(i).toStdString());
    return names;
}

int Statement::column(std::string_view name) const
{
    const auto& names = columnNames();
    const auto found = std::ranges::find(names, name);
    if (found != names.end())
        return static_cast<int>(found - names.begin());
    m_unknownColumn = name;
    return -1;
}

int Statement::columns() const
{
    return m_rows && m_row < m_rows->size() ? static_cast<int>(m_rows->at(m_row).size()) : m_query->record().count();
}

std::optional<std::string> Statement::textOr(int column) const
{
    const QVariant value = this->value(column);
    return value.isNull() ? std::nullopt : std::optional(value.toString().toStdString());
}

std::optional<std::int64_t> Statement::numberOr(int column) const
{
    const QVariant value = this->value(column);
    return value.isNull() ? std::nullopt : std::optional<std::int64_t>(value.toLongLong());
}

std::optional<double> Statement::realOr(int column) const
{
    const QVariant value = this->value(column);
    return value.isNull() ? std::nullopt : std::optional(value.toDouble());
}

Session::Session(base::Arg place, QString connection, std::unique_ptr<Engine> engine)
    : m_place(std::move(place)),
      m_connection(std::move(connection)),
      m_engine(std::move(engine))
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
    base::Fault fault = m_engine->fault(error, m_place);
    m_lost = m_lost || fault.kind == base::FaultKind::Unreachable;
    if (m_writing && !m_spoilt)
        m_spoilt = fault;
    return fault;
}

base::Result<Statement> Session::prepared(const char* sql, const Sql* declared, bool forwardOnly)
{
    auto found = m_statements.find(sql);
    if (found == m_statements.end()) {
        QSqlQuery query(database());
        query.setForwardOnly(forwardOnly);
        if (!query.prepare(QString::fromUtf8(sql)))
            return faultOf(query.lastError());
        const int parameters = static_cast<int>(std::count(sql, sql + std::char_traits<char>::length(sql), '?'));
        found = m_statements.emplace(sql, Statement::Prepared { std::move(query), parameters }).first;
    }
    return Statement(this, sql, declared, &found->second);
}

base::Result<Statement> Session::statement(const Sql& sql)
{
    return prepared(sql.text(), &sql, !m_engine->keepsOpenResults());
}

base::Result<Statement> Session::statement(const char* sql)
{
    return prepared(sql, nullptr, !m_engine->keepsOpenResults());
}

base::Result<Statement> Session::streamed(const Sql& sql)
{
    return prepared(sql.text(), &sql, true);
}

base::Result<Statement> Session::streamed(const char* sql)
{
    return prepared(sql, nullptr, true);
}

Done Session::execute(const Sql& sql, const QVariantList& values)
{
    return m_writing || m_rehearsing ? wait(sql, values) : runAtOnce(statement(sql), values);
}

Done Session::execute(const char* sql, const QVariantList& values)
{
    return m_rehearsing ? Done(cannotBeRehearsed()) : runAtOnce(statement(sql), values);
}

Done Session::runAtOnce(base::Result<Statement> query, const QVariantList& values)
{
    if (!query)
        return query.error();
    if (const Done ran = query->run(values); !ran)
        return ran;
    query->m_query->finish();
    return {};
}

Done Session::wait(const Sql& statement, const QVariantList& values)
{
    m_waitingTables.insert(statement.writes().begin(), statement.writes().end());
    const char* sql = statement.text();
    if (m_rehearsing)
        return {};
    auto known = m_serverNames.find(sql);
    if (known == m_serverNames.end()) {
        known = m_serverNames.emplace(sql, QStringLiteral("mk_%1").arg(++m_serverNamesGiven)).first;
        m_waiting += QStringLiteral("PREPARE ") + known->second + QStringLiteral(" AS ");
        int parameter = 0;
        for (const QChar letter : QString::fromUtf8(sql))
            m_waiting += letter == QLatin1Char('?') ? QStringLiteral("$%1").arg(++parameter) : QString(letter);
        m_waiting += QStringLiteral("; ");
    }
    m_waiting += QStringLiteral("EXECUTE ") + known->second;
    const QSqlDriver* driver = database().driver();
    for (int i = 0; i < values.size(); ++i) {
        QSqlField field({}, values[i].metaType());
        field.setValue(values[i]);
        m_waiting += (i == 0 ? QStringLiteral("(") : QStringLiteral(", ")) + driver->formatValue(field);
    }
    m_waiting += values.isEmpty() ? QStringLiteral("; ") : QStringLiteral("); ");
    return m_waiting.size() < kMostWaiting ? Done() : send();
}

bool Session::mustSendBefore(const Sql* declared) const
{
    if (m_waitingTables.empty())
        return false;
    const auto waits = [this](std::string_view table) { return m_waitingTables.contains(table); };
    return declared == nullptr || std::ranges::any_of(declared->reads(), waits) || std::ranges::any_of(declared->writes(), waits);
}

Done Session::send(const char* and_)
{
    const QString text = m_waiting + QString::fromUtf8(and_);
    m_waiting.clear();
    m_waitingTables.clear();
    forgetRehearsal(); // what was read before this was written
    const Done done = text.isEmpty() ? Done() : runText(text);
    if (!done)
        forgetWaiting();
    return done;
}

/// Where sending failed, nobody knows which statements the server got to know: they are named anew.
void Session::forgetWaiting()
{
    m_waiting.clear();
    m_waitingTables.clear();
    m_serverNames.clear();
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

void Session::endRehearsal()
{
    m_rehearsing = false;
    m_waitingTables.clear();
}

Done Session::begin()
{
    const Done done = m_engine->takeWriteLock(*this);
    if (!done && isServer())
        rollBack(); // the transaction may stand, without its lock
    if (!done)
        return done;
    m_writing = isServer();
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
    if (m_spoilt) // the server would answer a commit by rolling back, and call that done
        return *m_spoilt;
    const Done done = m_writing ? send("COMMIT") : control("COMMIT");
    if (!done)
        return done;
    m_writing = false;
    forgetRehearsal();
    const Done there = m_engine->inPlace(); // stored in a file that is no longer the registry's is not stored
    if (!there)
        m_engine->letGo(*this);
    return there;
}

void Session::rollBack()
{
    if (!m_waiting.isEmpty())
        forgetWaiting();
    m_waitingTables.clear();
    m_writing = false;
    m_spoilt.reset();
    forgetRehearsal();
    static_cast<void>(control("ROLLBACK")); // after a full disk SQLite may have rolled back by itself
}

Done Session::reconnect()
{
    if (!isServer())
        return {};
    m_statements.clear();
    forgetWaiting();
    m_writing = false;
    m_spoilt.reset();
    m_lost = false;
    const Done back = m_engine->openAgain(*this);
    m_lost = !back;
    return back;
}

QSqlDriver* Session::listen()
{
    if (!isServer())
        return nullptr;
    QSqlDriver* driver = database().driver();
    if (!driver->subscribedToNotifications().contains(m_engine->channel()))
        driver->subscribeToNotification(m_engine->channel());
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
