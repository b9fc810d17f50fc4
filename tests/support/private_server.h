// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QProcess>
#include <QSqlQuery>
#include <QString>
#include <QStringList>
#include <QTemporaryDir>

#include <functional>
#include <memory>
#include <string>

namespace mk::support {

/// A PostgreSQL server of the test's own: on a socket in a folder of its own, and on a free port of the loopback. Started by the first test
/// of a program that asks, ended with the program by its process id.
class PrivateServer {
public:
    enum class Disk { Safe, Fast }; ///< Fast: without fsync, for tests that lose nothing by it

    /// Nothing where no server can be started here; `why` then says so.
    static std::unique_ptr<PrivateServer> start(Disk disk, QString& why);
    /// The one that all tests of a program share, Fast; fails the running test where there is none.
    static PrivateServer& shared();
    ~PrivateServer();

    /// A new database with the roles of a registry, and logins nurse, coordinator, inspector and keeper (migrate). Returns its name.
    QString newDatabase();
    /// postgresql:// address by socket; user empty: the superuser
    /// The name of the database in an address that address() gave.
    static QString databaseOf(const std::string& address);
    std::string address(const QString& database, const QString& user = {}) const;
    /// The same over TCP on the loopback. parameters  appended after '?'
    std::string tcpAddress(const QString& database, const QString& user, const QString& parameters = {}) const;
    /// Runs SQL as the superuser, and returns what psql printed.
    QString sql(const QString& database, const QString& text);

    bool startAgain();
    /// how  smart, fast, immediate as pg_ctl knows them
    bool stop(const QString& how = QStringLiteral("fast"));
    qint64 mainProcess() const;
    QString folder() const { return m_folder.path(); }
    QString data() const { return m_folder.filePath(QStringLiteral("data")); }
    int port() const { return m_port; }
    /// Appends lines to postgresql.conf; they hold from the next start.
    void configure(const QString& lines);
    /// pg_hba.conf in full.
    void letIn(const QString& lines);

private:
    PrivateServer() = default;
    bool layOut(QString* said);
    bool run(const QString& program, const QStringList& arguments, QString* output = nullptr);
    QTemporaryDir m_folder;
    int m_port = 0;
    int m_databases = 0;
    bool m_running = false;
};

/// Where a test's registry shall live: a path in `folder`, or, with MK_ENGINE=postgresql in the environment, a fresh database of the shared
/// server.
std::string newPlace(const QString& pathOfFile);
/// Opens the registry past the program, as somebody does who owns the file or the server, and hands over a query on it.
void pastTheProgram(const std::string& place, const std::function<void(QSqlQuery&)>& what);
/// Do the tests of this run use a server?
bool onServer();

} // namespace mk::support
