// SPDX-License-Identifier: GPL-3.0-or-later
// The way to a server on another machine is encrypted and its certificate checked; a password is asked for and never read from a file.
#include "server/server_ward.h"
#include "store/db/address.h"

#include <gtest/gtest.h>

#include <QFile>
#include <QProcess>
#include <QSqlQuery>

#include <unistd.h>

namespace mk::server {
namespace {

/// A server that takes passwords, and only over TLS, with a certificate of its own for 127.0.0.1.
class EncryptedServer : public ::testing::Test {
protected:
    void SetUp() override
    {
        QString why;
        m_server = support::PrivateServer::start(support::PrivateServer::Disk::Fast, why);
        ASSERT_TRUE(m_server) << why.toStdString();
        m_ward = std::make_unique<ServerWard>(*m_server);
        m_server->sql(QStringLiteral("postgres"), QStringLiteral("ALTER ROLE nurse PASSWORD 'the right one'"));
        ASSERT_TRUE(m_server->stop());
        QProcess openssl;
        openssl.start(QStringLiteral("openssl"),
            { QStringLiteral("req"), QStringLiteral("-new"), QStringLiteral("-x509"), QStringLiteral("-days"), QStringLiteral("2"),
                QStringLiteral("-nodes"), QStringLiteral("-newkey"), QStringLiteral("rsa:2048"), QStringLiteral("-subj"),
                QStringLiteral("/CN=127.0.0.1"), QStringLiteral("-addext"), QStringLiteral("subjectAltName=IP:127.0.0.1"),
                QStringLiteral("-keyout"), key(), QStringLiteral("-out"), certificate() });
        ASSERT_TRUE(openssl.waitForFinished());
        ASSERT_EQ(openssl.exitCode(), 0) << openssl.readAllStandardError().toStdString();
        QFile::setPermissions(key(), QFile::ReadOwner | QFile::WriteOwner);
        if (geteuid() == 0) {
            ASSERT_EQ(QProcess::execute(QStringLiteral("chown"), { QStringLiteral("postgres"), key(), certificate() }), 0);
        }
        m_server->configure(QStringLiteral("ssl = on\nssl_cert_file = '%1'\nssl_key_file = '%2'\n").arg(certificate(), key()));
        m_server->letIn(QStringLiteral("local all all trust\nhostssl all all 127.0.0.1/32 scram-sha-256\n"));
        ASSERT_TRUE(m_server->startAgain());
    }

    QString key() const { return m_server->folder() + QStringLiteral("/server.key"); }
    QString certificate() const { return m_server->folder() + QStringLiteral("/server.crt"); }
    std::string address(const QString& parameters) const
    {
        return m_server->tcpAddress(m_ward->database(), QStringLiteral("nurse"), parameters);
    }
    static store::PasswordSource answering(const std::string& password, int& asked)
    {
        return [password, &asked](const store::Address&) -> base::Result<std::string> {
            ++asked;
            return password;
        };
    }

    std::unique_ptr<support::PrivateServer> m_server;
    std::unique_ptr<ServerWard> m_ward;
};

} // namespace

TEST_F(EncryptedServer, LetsInWithPasswordAndCheckedCertificate)
{
    int asked = 0;
    const auto session = store::Session::open(address(QStringLiteral("sslmode=verify-full&sslrootcert=") + certificate()),
        store::Session::Access::ReadWrite, answering("the right one", asked));
    ASSERT_TRUE(session) << session.error().text;
    EXPECT_EQ(asked, 1);
    EXPECT_EQ(m_server
                  ->sql(QStringLiteral("postgres"),
                      QStringLiteral(
                          "SELECT count(*) FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) WHERE a.usename = 'nurse' AND s.ssl"))
                  .toStdString(),
        "1");
    ASSERT_TRUE((*session)->reconnect());
    EXPECT_EQ(asked, 1) << "the session remembers it, in memory";
}

TEST_F(EncryptedServer, IsNotTrustedWithoutItsCertificate)
{
    int asked = 0;
    const auto session = store::Session::open(address(QStringLiteral("sslmode=verify-full&sslrootcert=/nowhere.crt")),
        store::Session::Access::ReadWrite, answering("the right one", asked));
    ASSERT_FALSE(session);
    EXPECT_EQ(session.error().kind, base::FaultKind::Denied) << session.error().text;
    EXPECT_EQ(asked, 0) << "no password goes to a server that is not trusted";
}

TEST_F(EncryptedServer, TellsAWrongPasswordAndAMissingOneApart)
{
    int asked = 0;
    const std::string where = address(QStringLiteral("sslmode=verify-full&sslrootcert=") + certificate());
    const auto wrong = store::Session::open(where, store::Session::Access::ReadWrite, answering("a wrong one", asked));
    ASSERT_FALSE(wrong);
    EXPECT_EQ(wrong.error().kind, base::FaultKind::Denied);
    EXPECT_NE(wrong.error().text.find("did not accept"), std::string::npos) << wrong.error().text;
    EXPECT_EQ(wrong.error().text.find("a wrong one"), std::string::npos) << "no message carries a password";
    const auto missing = store::Session::open(where, store::Session::Access::ReadWrite);
    ASSERT_FALSE(missing);
    EXPECT_NE(missing.error().text.find("asks for a password"), std::string::npos) << missing.error().text;
}

TEST_F(EncryptedServer, ReadsNoPasswordFile)
{
    QFile file(m_server->folder() + QStringLiteral("/pgpass"));
    ASSERT_TRUE(file.open(QIODevice::WriteOnly));
    file.write("*:*:*:*:the right one\n");
    file.close();
    QFile::setPermissions(file.fileName(), QFile::ReadOwner | QFile::WriteOwner);
    qputenv("PGPASSFILE", file.fileName().toLocal8Bit());
    const auto session = store::Session::open(
        address(QStringLiteral("sslmode=verify-full&sslrootcert=") + certificate()), store::Session::Access::ReadWrite);
    qunsetenv("PGPASSFILE");
    EXPECT_FALSE(session);
}

TEST(ServerAddress, IsReadPartByPart)
{
    const auto address = store::Address::parse(
        "postgresql://nurse%2001@db.example.org:5433/ward?sslrootcert=/etc/ward.crt&connect_timeout=3");
    ASSERT_TRUE(address) << address.error().text;
    EXPECT_EQ(address->user, "nurse 01");
    EXPECT_EQ(address->host, "db.example.org");
    EXPECT_EQ(address->port, 5433);
    EXPECT_EQ(address->database, "ward");
    EXPECT_EQ(address->parameters.back(), (std::pair<std::string, std::string>("sslmode", "verify-full")))
        << "another machine's certificate is checked unless said otherwise";
    EXPECT_TRUE(store::Address::parse("postgresql://?service=ward")->isServer());
    EXPECT_EQ(store::Address::parse("ward.mkr")->file, "ward.mkr");
}

TEST(ServerAddress, RefusesWhatIsUnsafeOrUnclear)
{
    for (const auto& [text, said] : { std::pair("postgresql://nurse:secret@db/ward", "password"),
             std::pair("postgresql://db/ward?password=secret", "password"), std::pair("postgresql://db/ward?passfile=/x", "password"),
             std::pair("postgresql://db/ward?sslmode=disable", "without encryption"),
             std::pair("postgresql://db/ward?sslmode=prefer", "sslmode"), std::pair("postgresql://db/ward?options=-c%20x", "not known"),
             std::pair("postgresql://db:99999/ward", "port"), std::pair("postgresql://db/wa%27rd", "database name"),
             std::pair("postgresql://db/ward?sslmode=require&sslmode=verify-full", "twice"), std::pair("postgresql://a,b/ward", "host"),
             std::pair("postgresql://db/ward#x", "#"), std::pair("postgresql://db?service=x", "service"),
             std::pair("postgresql://?service=x&sslmode=disable", "without encryption"), std::pair("postgresql://%zz/ward", "host"),
             std::pair("", "no name") }) {
        const auto address = store::Address::parse(text);
        ASSERT_FALSE(address) << text;
        EXPECT_NE(address.error().text.find(said), std::string::npos) << text << ": " << address.error().text;
        EXPECT_EQ(address.error().text.find("secret"), std::string::npos) << "no message repeats a password";
    }
}

} // namespace mk::server
