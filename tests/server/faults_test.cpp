// SPDX-License-Identifier: GPL-3.0-or-later
// A server that dies, comes back, stays away, or ends a connection; and a program that dies before a server.
#include "faults/fault_table.h"
#include "server/server_ward.h"

#include <gtest/gtest.h>

#include <QProcess>
#include <QRandomGenerator>

#include <atomic>
#include <chrono>
#include <thread>

namespace mk::server {
namespace {

using namespace registry;
using std::chrono::milliseconds;

bool isLong()
{
    return qEnvironmentVariableIsSet("MK_LONG_TESTS");
}

std::unique_ptr<support::PrivateServer> aServer()
{
    QString why;
    auto server = support::PrivateServer::start(support::PrivateServer::Disk::Safe, why);
    EXPECT_TRUE(server) << why.toStdString();
    return server;
}

/// How many of these ids do not stand in the journal exactly once.
std::int64_t lostOf(ServerWard& ward, const std::vector<std::string>& ids)
{
    QString list;
    for (const auto& id : ids)
        list += (list.isEmpty() ? QStringLiteral("'") : QStringLiteral("','")) + QString::fromStdString(id);
    const QString found = ward.server().sql(ward.database(),
        QStringLiteral("SELECT count(*), count(DISTINCT id) FROM meterkeep.journal WHERE id = ANY (ARRAY[%1'])").arg(list));
    EXPECT_EQ(found.section(QLatin1Char('|'), 0, 0), found.section(QLatin1Char('|'), 1, 1));
    return static_cast<std::int64_t>(ids.size()) - found.section(QLatin1Char('|'), 0, 0).toLongLong();
}

/// Records runs until told to end, each sent again with its id until it is answered, as the window does.
std::vector<std::string> recordUntil(const ServerWard& ward, const std::atomic<bool>& ends, const std::string& meter)
{
    std::vector<std::string> acknowledged;
    Window window;
    while (!window.registrar && !ends) { // the server may go away while a window opens
        auto session = store::Session::open(ward.address("nurse"), store::Session::Access::ReadWrite);
        auto registrar = session ? store::Registrar::open(**session, store::machineClock)
                                 : base::Result<std::unique_ptr<store::Registrar>>(session.error());
        if (registrar) {
            window.session = std::move(session).value();
            window.registrar = std::move(registrar).value();
        } else {
            EXPECT_EQ(registrar.error().kind, base::FaultKind::Unreachable) << registrar.error().text;
        }
    }
    for (int n = 0; !ends; ++n) {
        const std::string id = meter + "-id-" + std::to_string(n);
        const auto run = ServerWard::run(
            meter + "-" + std::to_string(n / 2), meter, n % 2 == 0 ? Level::Low : Level::High, n % 2 == 0 ? "60" : "300");
        for (;;) {
            const auto done = window.record(run, id);
            if (done) {
                acknowledged.push_back(id);
                break;
            }
            EXPECT_EQ(done.error().kind, base::FaultKind::Unreachable) << done.error().text;
            if (ends || done.error().kind != base::FaultKind::Unreachable)
                return acknowledged;
            std::this_thread::sleep_for(milliseconds(20));
        }
    }
    return acknowledged;
}

} // namespace

TEST(ServerFaults, TheServerIsKilledInTheMiddleOfWrites)
{
    const auto server = aServer();
    ServerWard ward(*server);
    const int tries = isLong() ? 60 : 6;
    std::atomic<bool> ends = false;
    std::vector<std::string> first, second;
    {
        std::jthread one([&] { first = recordUntil(ward, ends, "M1"); });
        std::jthread two([&] { second = recordUntil(ward, ends, "M2"); });
        for (int i = 0; i < tries; ++i) {
            std::this_thread::sleep_for(milliseconds(60 + QRandomGenerator::global()->bounded(60)));
            EXPECT_TRUE(server->stop(QStringLiteral("immediate"))); // no checkpoint, as in a crash
            EXPECT_TRUE(server->startAgain());
        }
        std::this_thread::sleep_for(milliseconds(100));
        ends = true;
    }
    first.insert(first.end(), second.begin(), second.end());
    EXPECT_GT(first.size(), static_cast<std::size_t>(tries));
    const std::int64_t lost = lostOf(ward, first);
    const auto found = ward.verification();
    EXPECT_EQ(lost, 0);
    EXPECT_TRUE(found.holds());
    faults::addFaultRow(
        "server killed while two clients write", tries, lost, found.holds() ? 0 : 1, "the next act, which is sent again by itself");
}

TEST(ServerFaults, TheServerEndsTheConnection)
{
    ServerWard ward;
    const int tries = isLong() ? 300 : 15;
    std::atomic<bool> ends = false;
    std::vector<std::string> acknowledged;
    {
        std::jthread hand([&] { acknowledged = recordUntil(ward, ends, "M1"); });
        for (int i = 0; i < tries; ++i) {
            std::this_thread::sleep_for(
                milliseconds(50 + QRandomGenerator::global()->bounded(100))); // so that some acts get through between two
            ward.server().sql(
                ward.database(), QStringLiteral("SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE usename = 'nurse'"));
        }
        ends = true;
    }
    EXPECT_GT(acknowledged.size(), 10U);
    const std::int64_t lost = lostOf(ward, acknowledged);
    const auto found = ward.verification();
    EXPECT_EQ(lost, 0);
    EXPECT_TRUE(found.holds());
    faults::addFaultRow(
        "server ends the connection at any moment", tries, lost, found.holds() ? 0 : 1, "nobody has to: sent again by itself");
}

TEST(ServerFaults, TheServerIsAwayAndComesBack)
{
    const auto server = aServer();
    ServerWard ward(*server);
    Window nurse = ward.open("nurse");
    ASSERT_TRUE(nurse.record(ServerWard::run("one", "M1", Level::Low, "61")));
    ASSERT_TRUE(server->stop());
    const auto low = ServerWard::run("two", "M1", Level::Low, "62");
    for (int i = 0; i < 3; ++i) {
        const auto away = nurse.record(low, "the-same-id");
        ASSERT_FALSE(away);
        EXPECT_EQ(away.error().kind, base::FaultKind::Unreachable);
        EXPECT_NE(away.error().text.find("cannot be reached"), std::string::npos) << away.error().text;
        EXPECT_NE(away.error().text.find("paper form"), std::string::npos) << "what to do: " << away.error().text;
    }
    const auto opened = store::Session::open(ward.address("nurse"), store::Session::Access::ReadWrite);
    ASSERT_FALSE(opened);
    EXPECT_EQ(opened.error().kind, base::FaultKind::Unreachable);
    ASSERT_TRUE(server->startAgain());
    const auto back = nurse.record(low, "the-same-id");
    ASSERT_TRUE(back) << back.error().text;
    EXPECT_FALSE(back->front().repeated);
    EXPECT_EQ(lostOf(ward, { "the-same-id" }), 0);
    EXPECT_TRUE(ward.verification().holds());
    faults::addFaultRow("server away for a long time", 3, 0, 0, "the next act: the server cannot be reached");
}

TEST(ServerFaults, TheProgramIsKilledBeforeAServer)
{
    ServerWard ward;
    const int tries = isLong() ? 100 : 12;
    std::int64_t acknowledged = 0;
    for (int i = 0; i < tries; ++i) {
        QProcess cli;
        cli.start(QStringLiteral(MK_CLI),
            { QStringLiteral("--registry"), QString::fromStdString(ward.address("nurse")), QStringLiteral("--operator"),
                QStringLiteral("N1"), QStringLiteral("run"), QStringLiteral("add"), QStringLiteral("--meter"),
                QStringLiteral("M%1").arg(i % 8 + 1), QStringLiteral("--strip-vial"), QStringLiteral("V1"), QStringLiteral("--run"),
                QStringLiteral("low:L1=60"), QStringLiteral("--run"), QStringLiteral("high:H1=300") });
        ASSERT_TRUE(cli.waitForStarted());
        if (cli.waitForFinished(QRandomGenerator::global()->bounded(isLong() ? 150 : 80)))
            ++acknowledged;
        else
            cli.kill();
        cli.waitForFinished();
    }
    const auto found = ward.verification();
    EXPECT_TRUE(found.holds());
    // Both runs of a set and its verdict come in one transaction.
    const std::int64_t half
        = ward.server()
              .sql(ward.database(),
                  QStringLiteral("SELECT count(*) FROM (SELECT set_id FROM meterkeep.control_run GROUP BY set_id HAVING count(*) <> 2) x"))
              .toLongLong()
        + ward.server()
              .sql(ward.database(),
                  QStringLiteral(
                      "SELECT count(*) FROM meterkeep.control_run r WHERE NOT EXISTS (SELECT 1 FROM meterkeep.set_verdict v WHERE v.set_id = r.set_id)"))
              .toLongLong();
    EXPECT_EQ(half, 0);
    const std::int64_t sets = ward.server().sql(ward.database(), QStringLiteral("SELECT count(*) FROM meterkeep.set_verdict")).toLongLong();
    EXPECT_GE(sets, acknowledged);
    faults::addFaultRow("program killed while it records on a server", tries, std::max<std::int64_t>(0, acknowledged - sets), half,
        "nobody has to: the transaction ends with the connection");
}

} // namespace mk::server
