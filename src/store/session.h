// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/result.h"

#include <QSqlQuery>
#include <QString>
#include <QVariant>

#include <memory>
#include <optional>
#include <string>
#include <unordered_map>

class QTemporaryDir;

namespace mk::store {

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
    bool next() { return m_query->next(); }
    /// After the last next(): false there means the end, or a broken read.
    base::Done finished();

    std::string text(int column) const { return m_query->value(column).toString().toStdString(); }
    std::optional<std::string> textOr(int column) const;
    std::int64_t number(int column) const { return m_query->value(column).toLongLong(); }
    std::optional<std::int64_t> numberOr(int column) const;
    std::optional<double> realOr(int column) const;
    QVariant value(int column) const { return m_query->value(column); }
    int columns() const;

private:
    friend class Session;
    Statement(QSqlQuery* query, int parameters) : m_query(query), m_parameters(parameters) { }
    QSqlQuery* m_query;
    int m_parameters;
};

/// One connection to one registry file, of the thread that opened it.
class Session {
public:
    enum class Access { ReadOnly, ReadWrite };

    /// Makes a new registry file with the newest schema.
    /// errors  Conflict where the path exists; Io, Full, ReadOnly
    static base::Result<std::unique_ptr<Session>> create(const std::string& path);

    /// Opens a registry, bringing an older schema up to date where it may write.
    /// errors  NotFound, Damaged (not a registry), NewerFormat, Busy, ReadOnly, Io
    static base::Result<std::unique_ptr<Session>> open(const std::string& path, Access access);

    /// An empty registry that lives only as long as the session; for rebuilding the index.
    static base::Result<std::unique_ptr<Session>> scratch();

    ~Session();
    Session(const Session&) = delete;
    Session& operator=(const Session&) = delete;

    const std::string& path() const { return m_path; }

    /// sql  a constant; prepared once and kept
    base::Result<Statement> statement(const char* sql);
    /// Prepares, binds and runs; for statements without rows.
    base::Done execute(const char* sql, const QVariantList& values = {});

    base::Done begin();    ///< BEGIN IMMEDIATE: the write lock
    base::Done beginRead();///< one unchanging view until commit
    base::Done commit();
    void rollBack();

    static int newestSchema();

private:
    Session(std::string path, QString connection);
    static base::Result<std::unique_ptr<Session>> connect(const std::string& path, Access access, bool checkWal);
    static base::Result<std::unique_ptr<Session>> openMigratedCopy(Session& original, std::int64_t version);
    base::Result<std::int64_t> pragma(const char* sql);
    base::Result<std::int64_t> schema();
    base::Done checkFormat();
    base::Done migrate(int from);
    base::Done applyMigration(int version);

    std::unique_ptr<QTemporaryDir> m_copy; ///< holds the file, where it is not the one at m_path; goes after the connection
    std::string m_path;
    QString m_connection;
    struct Prepared {
        QSqlQuery query;
        int parameters = 0;
    };
    std::unordered_map<const char*, Prepared> m_statements;
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
