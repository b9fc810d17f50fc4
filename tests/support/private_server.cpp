// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/private_server.h"

#include <QDir>
#include <QFile>
#include <QSqlDatabase>
#include <QSqlError>
#include <QTcpServer>
#include <QTextStream>
#include <QThread>

#include <gtest/gtest.h>

#include <csignal>
#include <unistd.h>

namespace mk::support {

namespace {

QString programs()
{
    const QStringList found = QDir(QStringLiteral("/usr/lib/postgresql"))
                                  .entryList(QDir::Dirs | QDir::NoDotAndDotDot, QDir::Name | QDir::Reversed);
    return found.isEmpty() ? QString() : QStringLiteral("/usr/lib/postgresql/%1/bin/").arg(found.front());
}

int freePort()
{
    QTcpServer probe;
    return probe.listen(QHostAddress::LocalHost, 0) ? probe.serverPort() : 0;
}

} // namespace

bool onServer()
{
    return qEnvironmentVariable("MK_ENGINE") == QStringLiteral("postgresql");
}

std::string newPlace(const QString& pathOfFile)
{
    if (!onServer())
        return pathOfFile.toStdString();
    PrivateServer& server = PrivateServer::shared();
    return server.address(server.newDatabase());
}

void pastTheProgram(const std::string& place, const std::function<void(QSqlQuery&)>& what)
{
    const QString name = QStringLiteral("past-the-program");
    const bool server = place.starts_with("postgresql://");
    {
        QSqlDatabase database = QSqlDatabase::addDatabase(server ? QStringLiteral("QPSQL") : QStringLiteral("QSQLITE"), name);
        database.setDatabaseName(server ? PrivateServer::databaseOf(place) : QString::fromStdString(place));
        if (server) {
            database.setHostName(PrivateServer::shared().folder());
            database.setPort(PrivateServer::shared().port());
            database.setUserName(QStringLiteral("keeper_of_all"));
        }
        EXPECT_TRUE(database.open()) << database.lastError().text().toStdString();
        QSqlQuery query(database);
        if (server) {
            EXPECT_TRUE(query.exec(QStringLiteral("SET search_path = meterkeep, pg_temp")));
        }
        what(query);
    }
    QSqlDatabase::removeDatabase(name);
}

QString PrivateServer::databaseOf(const std::string& address)
{
    return QString::fromStdString(address).section(QLatin1Char('?'), 0, 0).section(QLatin1Char('/'), -1);
}

PrivateServer& PrivateServer::shared()
{
    static QString why;
    static std::unique_ptr<PrivateServer> server = start(Disk::Fast, why);
    if (!server) {
        ADD_FAILURE() << "no private PostgreSQL server: " << why.toStdString() << ". Install the package postgresql";
        std::abort();
    }
    return *server;
}

/// A server may not run as root: then it runs as the user that the package made.
bool PrivateServer::run(const QString& program, const QStringList& arguments, QString* output)
{
    QProcess process;
    QString name = program;
    QStringList all = arguments;
    if (geteuid() == 0) {
        all = QStringList { QStringLiteral("-u"), QStringLiteral("postgres"), QStringLiteral("--"), program } + arguments;
        name = QStringLiteral("runuser");
    }
    process.setWorkingDirectory(m_folder.path());
    process.setProcessChannelMode(QProcess::MergedChannels);
    process.setStandardOutputFile(m_folder.filePath(QStringLiteral("last.log")));
    process.start(name, all);
    const bool done = process.waitForFinished(60'000) && process.exitStatus() == QProcess::NormalExit && process.exitCode() == 0;
    QFile log(m_folder.filePath(QStringLiteral("last.log")));
    if (output != nullptr && log.open(QIODevice::ReadOnly))
        *output = QString::fromUtf8(log.readAll());
    return done;
}

/// A fresh server's files. Making them takes a second and every test program wants some, so the first one leaves a form that the others
/// copy.
bool PrivateServer::layOut(QString* said)
{
    const QString version = programs().section(QLatin1Char('/'), -3, -3);
    const QString form = QStringLiteral(MK_SERVER_FORM) + QLatin1Char('-') + version;
    const auto copied = [](const QString& from, const QString& to) {
        return QProcess::execute(QStringLiteral("cp"), { QStringLiteral("-a"), QStringLiteral("--reflink=auto"), from, to }) == 0;
    };
    if (QFile::exists(form))
        return copied(form, data());
    if (!run(programs() + QStringLiteral("initdb"),
            { QStringLiteral("-D"), data(), QStringLiteral("-U"), QStringLiteral("keeper_of_all"), QStringLiteral("-A"),
                QStringLiteral("trust"), QStringLiteral("-E"), QStringLiteral("UTF8"), QStringLiteral("--locale=C.UTF-8"),
                QStringLiteral("--no-sync") },
            said))
        return false;
    // Put in place at one stroke; where another program was first, or the folder cannot be written, nothing is lost.
    const QString begun = form + QStringLiteral(".of-%1").arg(::getpid());
    if (!copied(data(), begun) || !QDir().rename(begun, form))
        QDir(begun).removeRecursively();
    return true;
}

std::unique_ptr<PrivateServer> PrivateServer::start(Disk disk, QString& why)
{
    if (programs().isEmpty()) {
        why = QStringLiteral("nothing in /usr/lib/postgresql");
        return nullptr;
    }
    std::unique_ptr<PrivateServer> server(new PrivateServer());
    const QString folder = server->m_folder.path();
    if (geteuid() == 0)
        QProcess::execute(QStringLiteral("chown"), { QStringLiteral("postgres"), folder });
    if (!server->layOut(&why))
        return nullptr;
    server->m_port = freePort();
    server->configure(
        QStringLiteral("port = %1\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = '%2'\nmax_connections = 60\nfsync = %3\n"
                       "full_page_writes = %3\nsynchronous_commit = on\nlog_min_messages = fatal\n")
            .arg(server->m_port)
            .arg(folder, disk == Disk::Safe ? QStringLiteral("on") : QStringLiteral("off")));
    if (!server->startAgain()) {
        why = QStringLiteral("the server did not start");
        return nullptr;
    }
    return server;
}

PrivateServer::~PrivateServer()
{
    if (m_running && !stop(QStringLiteral("immediate")) && mainProcess() > 0)
        ::kill(static_cast<pid_t>(mainProcess()), SIGQUIT);
}

bool PrivateServer::startAgain()
{
    m_running = run(programs() + QStringLiteral("pg_ctl"),
        { QStringLiteral("-D"), data(), QStringLiteral("-w"), QStringLiteral("-t"), QStringLiteral("30"), QStringLiteral("-l"),
            m_folder.filePath(QStringLiteral("server.log")), QStringLiteral("start") });
    return m_running;
}

bool PrivateServer::stop(const QString& how)
{
    const bool stopped = run(programs() + QStringLiteral("pg_ctl"),
        { QStringLiteral("-D"), data(), QStringLiteral("-w"), QStringLiteral("-m"), how, QStringLiteral("stop") });
    m_running = m_running && !stopped;
    return stopped;
}

qint64 PrivateServer::mainProcess() const
{
    QFile file(data() + QStringLiteral("/postmaster.pid"));
    return file.open(QIODevice::ReadOnly) ? file.readLine().trimmed().toLongLong() : 0;
}

void PrivateServer::configure(const QString& lines)
{
    QFile file(data() + QStringLiteral("/postgresql.conf"));
    if (file.open(QIODevice::Append))
        file.write(lines.toUtf8());
}

void PrivateServer::letIn(const QString& lines)
{
    QFile file(data() + QStringLiteral("/pg_hba.conf"));
    if (file.open(QIODevice::WriteOnly | QIODevice::Truncate))
        file.write(lines.toUtf8());
}

QString PrivateServer::sql(const QString& database, const QString& text)
{
    QString output;
    if (!run(programs() + QStringLiteral("psql"),
            { QStringLiteral("-X"), QStringLiteral("-q"), QStringLiteral("-A"), QStringLiteral("-t"), QStringLiteral("-v"),
                QStringLiteral("ON_ERROR_STOP=1"), QStringLiteral("-h"), m_folder.path(), QStringLiteral("-p"), QString::number(m_port),
                QStringLiteral("-U"), QStringLiteral("keeper_of_all"), QStringLiteral("-d"), database, QStringLiteral("-c"), text },
            &output))
        return QStringLiteral("ERROR: ") + output;
    return output.trimmed();
}

QString PrivateServer::newDatabase()
{
    const QString postgres = QStringLiteral("postgres");
    if (m_databases == 0) {
        // The template has the roles' rights; a new database is a copy of it.
        QFile roles(QStringLiteral(MK_SOURCE_DIR "/db/postgresql/roles.sql"));
        EXPECT_TRUE(roles.open(QIODevice::ReadOnly));
        sql(postgres, QStringLiteral("CREATE DATABASE ward_form"));
        const QString made = sql(QStringLiteral("ward_form"), QString::fromUtf8(roles.readAll()));
        EXPECT_EQ(made.toStdString(), "");
        for (const auto& [login, role] : { std::pair("nurse", "record"), std::pair("coordinator", "review"),
                 std::pair("inspector", "inspect"), std::pair("keeper", "migrate") })
            sql(postgres, QStringLiteral("CREATE ROLE %1 LOGIN; GRANT meterkeep_%2 TO %1").arg(QLatin1String(login), QLatin1String(role)));
    }
    const QString name = QStringLiteral("ward_%1").arg(++m_databases);
    const QString made = sql(postgres, QStringLiteral("CREATE DATABASE %1 TEMPLATE ward_form STRATEGY file_copy").arg(name));
    EXPECT_EQ(made.toStdString(), "");
    // Rights on a database are not copied with it.
    sql(postgres, QStringLiteral("GRANT CREATE ON DATABASE %1 TO meterkeep_migrate").arg(name));
    return name;
}

std::string PrivateServer::address(const QString& database, const QString& user) const
{
    return QStringLiteral("postgresql://%1@:%2/%3?host=%4")
        .arg(user.isEmpty() ? QStringLiteral("keeper_of_all") : user)
        .arg(m_port)
        .arg(database, m_folder.path())
        .toStdString();
}

std::string PrivateServer::tcpAddress(const QString& database, const QString& user, const QString& parameters) const
{
    return QStringLiteral("postgresql://%1@127.0.0.1:%2/%3%4")
        .arg(user)
        .arg(m_port)
        .arg(database, parameters.isEmpty() ? QString() : QStringLiteral("?") + parameters)
        .toStdString();
}

} // namespace mk::support
