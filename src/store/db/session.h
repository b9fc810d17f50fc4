// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/result.h"

#include <QSqlDatabase>
#include <QSqlQuery>
#include <QString>
#include <QVariant>

#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

class QSqlDriver;
class QSqlError;
class QTemporaryDir;

namespace mk::store {

class Engine;
class Session;
class Sql;
struct Address;

/// A value on its way into a statement.
QVariant bound(const std::string& text);
QVariant bound(std::int64_t number);
template <typename T>
QVariant bound(const std::optional<T>& value)
{
    return value ? bound(*value) : QVariant();
}

/// A prepared statement of a session, borrowed for one use. Rows come forward only.
class Statement {
public:
    /// values  one for each `?`, in order; errors name what SQLite said
    base::Done run(const QVariantList& values);
    bool next();
    /// After the last next(): false there means the end, or a broken read.
    base::Done finished();

    // The columns by their names in the statement; finished() is a fault where one has no such column.
    std::string text(std::string_view column) const { return text(this->column(column)); }
    std::optional<std::string> textOr(std::string_view column) const { return textOr(this->column(column)); }
    std::int64_t number(std::string_view column) const { return number(this->column(column)); }
    std::optional<std::int64_t> numberOr(std::string_view column) const { return numberOr(this->column(column)); }
    std::optional<double> realOr(std::string_view column) const { return realOr(this->column(column)); }
    QVariant value(std::string_view column) const { return value(this->column(column)); }
    int column(std::string_view name) const;

    // By their places.
    std::string text(int column) const { return value(column).toString().toStdString(); }
    std::optional<std::string> textOr(int column) const;
    std::int64_t number(int column) const { return value(column).toLongLong(); }
    std::optional<std::int64_t> numberOr(int column) const;
    std::optional<double> realOr(int column) const;
    QVariant value(int column) const;
    int columns() const;

private:
    friend class Session;
    struct Prepared {
        QSqlQuery query;
        int parameters = 0;
        std::vector<std::string> columns {}; ///< their names, from the first run on that asks
    };
    Statement(Session* session, const char* sql, const Sql* declared, Prepared* prepared)
        : m_session(session),
          m_sql(sql),
          m_declared(declared),
          m_prepared(prepared),
          m_query(&prepared->query)
    {
    }
    const std::vector<std::string>& columnNames() const;
    Session* m_session;
    const char* m_sql;
    const Sql* m_declared; ///< with its tables; null where it came as a bare text
    Prepared* m_prepared;
    QSqlQuery* m_query;
    mutable std::string m_unknownColumn; ///< somebody asked for it
    using Rows = std::vector<QVariantList>;
    base::Result<std::shared_ptr<const Rows>> allRows();
    std::shared_ptr<const Rows> m_rows; ///< where they were remembered
    std::size_t m_row = 0;
    bool m_begun = false;
};

/// Asked for the password of a server's user when the server wants one; a fault ends the opening.
using PasswordSource = std::function<base::Result<std::string>(const Address&)>;

/// One connection to one registry, a file or a schema on a server, of the thread that opened it.
class Session {
public:
    enum class Access { ReadOnly, ReadWrite };

    /// Makes a new registry with the newest schema: a file, or the schema `meterkeep` of a server's database.
    /// place   a path, or an address as Address::parse takes it
    /// errors  Conflict where there is one; Io, Full, ReadOnly, Unreachable, Denied
    static base::Result<std::unique_ptr<Session>> create(const std::string& place, const PasswordSource& password = {});

    /// Opens a registry, bringing an older schema up to date where it may write (a server's only its migrating role does, in `create` or
    /// `migrate`). errors  NotFound, Damaged (not a registry), NewerFormat, Busy, ReadOnly, Io, Unreachable, Denied
    static base::Result<std::unique_ptr<Session>> open(const std::string& place, Access access, const PasswordSource& password = {});

    /// An empty registry that lives only as long as the session; for rebuilding the index.
    static base::Result<std::unique_ptr<Session>> scratch();

    ~Session();
    Session(const Session&) = delete;
    Session& operator=(const Session&) = delete;

    /// The path of the file, or the server in words.
    const std::string& path() const { return m_place.text; }
    /// The same for a fault.
    const base::Arg& place() const { return m_place; }
    bool isServer() const;
    const Engine& engine() const { return *m_engine; }

    /// Did a statement find the server gone? Then whatever it was asked for is not known, and reconnect() comes first.
    bool lost() const { return m_lost; }
    /// Opens the lost connection to a server anew, with the password of the first time; prepared statements are made again.
    /// errors  Unreachable while the server is away
    base::Done reconnect();
    /// Another session's commits are announced on a server: the driver says it (QSqlDriver::notification), within its thread's event loop.
    QSqlDriver* listen();

    /// sql  static, prepared once and kept
    base::Result<Statement> statement(const Sql& sql);
    /// For very many rows: they come from the server as they are read, and no other statement may run in between.
    base::Result<Statement> streamed(const Sql& sql);
    /// Prepares, binds and runs; for statements without rows. Within a transaction on a server it waits for the next statement that reads
    /// its table, or for the commit, so that many go in one message: an error may come only then.
    base::Done execute(const Sql& sql, const QVariantList& values = {});

    /// The same with a bare text, a constant too: for pragmas and catalogues. It says nothing of its tables, so whatever waits is sent
    /// before it, and it never waits itself.
    base::Result<Statement> statement(const char* sql);
    base::Result<Statement> streamed(const char* sql);
    base::Done execute(const char* sql, const QVariantList& values = {});

    /// A transaction may be rehearsed before it takes the lock of a server: what is read is remembered, what is written is not. Within the
    /// transaction the same questions are then answered from memory, unless the rehearsal is forgotten because somebody else wrote what it
    /// rests on. While it is rehearsed, a statement that would read what was just written is refused.
    void rehearse() { m_rehearsing = true; }
    void endRehearsal();
    void forgetRehearsal() { m_remembered.clear(); }

    base::Done begin();     ///< holding the write lock
    base::Done beginRead(); ///< one unchanging view until commit
    base::Done commit();
    void rollBack();

    static int newestSchema();

private:
    friend class Statement;
    friend class SqliteEngine;
    friend class PostgresqlEngine;
    Session(base::Arg place, QString connection, std::unique_ptr<Engine> engine);
    base::Fault faultOf(const QSqlError& error) const;
    QSqlDatabase database() const;
    base::Result<Statement> prepared(const char* sql, const Sql* declared, bool forwardOnly);
    static base::Done runAtOnce(base::Result<Statement> query, const QVariantList& values);
    base::Done control(const char* sql);
    /// Runs a text of one or more statements that binds nothing: migrations.
    base::Done runText(const QString& sql);
    base::Done wait(const Sql& sql, const QVariantList& values);
    /// Sends what waits; and_: what else goes in the same message.
    base::Done send(const char* and_ = "");
    /// Does something wait that a statement may ask for? declared  null where it does not say its tables
    bool mustSendBefore(const Sql* declared) const;
    void forgetWaiting();

    std::unique_ptr<QTemporaryDir> m_copy; ///< holds the file, where it is not the one at m_place; goes after the connection
    base::Arg m_place;
    QString m_connection;
    std::unique_ptr<Engine> m_engine;
    mutable bool m_lost = false;
    std::unordered_map<const char*, Statement::Prepared> m_statements;
    struct Remembered {
        const char* sql;
        QVariantList values;
        std::shared_ptr<const Statement::Rows> rows;
    };
    std::vector<Remembered> m_remembered;
    bool m_rehearsing = false;
    mutable std::optional<base::Fault> m_spoilt; ///< what went wrong in a server's transaction: it cannot be committed any more
    bool m_writing = false;                      ///< a server's transaction is open
    QString m_waiting;                           ///< statements that were not sent yet
    std::set<std::string_view> m_waitingTables;
    std::unordered_map<const char*, QString> m_serverNames; ///< under which a server knows a statement that waited
    int m_serverNamesGiven = 0;
};

/// The transaction is undone unless it was committed.
class Transaction {
public:
    explicit Transaction(Session& session) : m_session(&session) { }
    ~Transaction()
    {
        if (m_open)
            m_session->rollBack();
    }
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;

    base::Done begin();
    base::Done commit();

private:
    Session* m_session;
    bool m_open = false;
};

} // namespace mk::store
