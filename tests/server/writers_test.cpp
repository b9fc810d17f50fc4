// SPDX-License-Identifier: GPL-3.0-or-later
// Many hands on one registry: one order of entries, nothing twice, nothing lost, also where an answer is.
#include "server/lossy_line.h"
#include "server/server_ward.h"
#include "store/registrar/registrar_batch.h"

#include <gtest/gtest.h>

#include <QSqlDatabase>
#include <QSqlDriver>
#include <QSqlError>
#include <QSqlQuery>
#include <QVariant>
#include <QCoreApplication>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <set>
#include <thread>

namespace mk::server {
namespace {

using namespace registry;
using Clock = std::chrono::steady_clock;

struct Rate {
    double perSecond = 0;
    double p99 = 0; ///< milliseconds
};

/// Runs `act` in so many threads until the time is over; `act` gets the thread and how often it ran, and answers false to stop.
template <typename Act>
Rate ratesOf(int threads, std::chrono::milliseconds during, Act act)
{
    std::vector<std::vector<double>> taken(static_cast<std::size_t>(threads));
    const auto begun = Clock::now();
    {
        std::vector<std::jthread> hands;
        for (int i = 0; i < threads; ++i)
            hands.emplace_back([&, i] {
                act(i, [&, i](auto&& once) {
                    for (int n = 0; Clock::now() - begun < during; ++n) {
                        const auto from = Clock::now();
                        if (!once(n))
                            return;
                        taken[static_cast<std::size_t>(i)].push_back(
                            std::chrono::duration<double, std::milli>(Clock::now() - from).count());
                    }
                });
            });
    }
    const double seconds = std::chrono::duration<double>(Clock::now() - begun).count();
    std::vector<double> all;
    for (const auto& each : taken)
        all.insert(all.end(), each.begin(), each.end());
    std::ranges::sort(all);
    return { static_cast<double>(all.size()) / seconds, all.empty() ? 0 : all[all.size() * 99 / 100] };
}

/// A plain connection, for what the bare server does.
template <typename F>
void onPlainConnection(ServerWard& ward, const QString& name, F&& f)
{
    {
        QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QPSQL"), name);
        database.setHostName(ward.server().folder());
        database.setPort(ward.server().port());
        database.setDatabaseName(ward.database());
        database.setUserName(QStringLiteral("keeper_of_all"));
        EXPECT_TRUE(database.open());
        QSqlQuery query(database);
        f(query);
    }
    QSqlDatabase::removeDatabase(name);
}

/// The bare server: one prepared row a commit, with nothing in common; and one statement that appends to a chain under the advisory lock.
Rate bareRate(ServerWard& ward, bool chained, int threads, std::chrono::milliseconds during)
{
    ward.server().sql(ward.database(),
        QStringLiteral(
            "DROP SCHEMA IF EXISTS bare CASCADE; CREATE SCHEMA bare; CREATE TABLE bare.link (seq bigint PRIMARY KEY, body text, digest text);"
            "INSERT INTO bare.link VALUES (0, '', repeat('0', 64)); CREATE TABLE bare.plain (id bigserial PRIMARY KEY, body text);"
            "CREATE FUNCTION bare.append(said text) RETURNS void LANGUAGE plpgsql AS 'BEGIN PERFORM pg_advisory_xact_lock(7);"
            " INSERT INTO bare.link SELECT seq + 1, said, encode(sha256(decode(digest, ''hex'') || convert_to(said, ''UTF8'')), ''hex'') FROM bare.link ORDER BY seq DESC LIMIT 1; END'"));
    const QString body(300, QLatin1Char('x'));
    return ratesOf(threads, during, [&](int i, auto&& loop) {
        onPlainConnection(ward, QStringLiteral("bare-%1").arg(i), [&](QSqlQuery& query) {
            EXPECT_TRUE(query.prepare(
                chained ? QStringLiteral("SELECT bare.append(?)") : QStringLiteral("INSERT INTO bare.plain (body) VALUES (?)")));
            loop([&](int) {
                query.bindValue(0, body);
                const bool done = query.exec();
                query.finish();
                return done;
            });
        });
    });
}

} // namespace

TEST(ServerWriters, EightAtOnceLoseNothingAndDoubleNothing)
{
    const bool isLong = qEnvironmentVariableIsSet("MK_LONG_TESTS");
    // Where the rates are to be believed each commit must reach the disk.
    QString why;
    const auto server = support::PrivateServer::start(support::PrivateServer::Disk::Safe, why);
    ASSERT_TRUE(server) << why.toStdString();
    ServerWard ward(*server);
    const std::chrono::milliseconds during(isLong ? 60'000 : 2'000);
    constexpr int kHands = 8;
    std::vector<std::vector<std::string>> acknowledged(kHands);
    const Rate rate = ratesOf(kHands, during, [&](int i, auto&& loop) {
        Window window = ward.open("nurse");
        const std::string meter = "M" + std::to_string(i + 1);
        loop([&](int n) {
            const std::string id = store::newUuid();
            const std::string set = meter + "-" + std::to_string(n / 2);
            const auto done = window.record(
                ServerWard::run(set, meter, n % 2 == 0 ? Level::Low : Level::High, n % 2 == 0 ? "60" : "300"), id);
            EXPECT_TRUE(done) << done.error().text;
            if (!done)
                return false;
            acknowledged[static_cast<std::size_t>(i)].push_back(id);
            return true;
        });
    });
    std::multiset<std::string> stored;
    onPlainConnection(ward, QStringLiteral("count"), [&](QSqlQuery& query) {
        query.setForwardOnly(true);
        ASSERT_TRUE(query.exec(QStringLiteral("SELECT id FROM meterkeep.journal WHERE act = 'control.run'")));
        while (query.next())
            stored.insert(query.value(0).toString().toStdString());
    });
    std::size_t sent = 0;
    for (const auto& ids : acknowledged) {
        sent += ids.size();
        for (const auto& id : ids)
            EXPECT_EQ(stored.count(id), 1U) << id;
    }
    EXPECT_EQ(stored.size(), sent) << "nothing stands there that nobody was told of";
    const auto found = ward.verification();
    EXPECT_TRUE(found.holds());

    const std::chrono::milliseconds bare(isLong ? 5'000 : 500);
    const Rate plain = bareRate(ward, false, kHands, bare);
    const Rate one = bareRate(ward, true, 1, bare);
    const Rate chained = bareRate(ward, true, kHands, bare);
    std::printf("eight clients: %zu runs acknowledged, each stored once; %lld entries, chain %s\n", sent,
        static_cast<long long>(found.entries), found.chainIntact ? "intact" : "BROKEN");
    std::printf("                               a second   p99 ms\n");
    std::printf("one run, judged, recorded       %8.0f %8.1f   (8 clients)\n", rate.perSecond, rate.p99);
    std::printf("bare: one row a commit          %8.0f %8.1f   (8 clients)\n", plain.perSecond, plain.p99);
    std::printf("bare: chained, under the lock   %8.0f %8.1f   (8 clients)\n", chained.perSecond, chained.p99);
    std::printf("bare: chained, under the lock   %8.0f %8.1f   (1 client)\n", one.perSecond, one.p99);
    std::printf("ratio to the bare chained append, 8 clients: %.2f\n", rate.perSecond / chained.perSecond);
}

TEST(ServerWriters, AVerdictRestsOnEveryRunBeforeItWhoeverRecordedThat)
{
    ServerWard ward;
    {
        std::vector<std::jthread> hands;
        for (int i = 0; i < 4; ++i)
            hands.emplace_back([&, i] {
                Window own = ward.open("nurse");
                for (int n = 0; n < 40; ++n) {
                    const auto done = own.record(ServerWard::run(
                        "shared-" + std::to_string(n), "M1", i % 2 == 0 ? Level::Low : Level::High, i % 2 == 0 ? "60" : "300"));
                    EXPECT_TRUE(done) << done.error().text;
                }
            });
    }
    // Revised ones included: a run that came late into an older set is judged with it.
    EXPECT_EQ(
        ward.server()
            .sql(ward.database(),
                QStringLiteral(
                    "SELECT count(*) > 100, count(*) FILTER (WHERE json_array_length(v.body::json->'runs') <> (SELECT count(*) FROM meterkeep.journal r"
                    " WHERE r.act = 'control.run' AND r.seq < v.seq AND r.body::json->>'set' = v.body::json->>'set'))"
                    " FROM meterkeep.journal v WHERE v.act IN ('control.judged', 'verdict.revised')"))
            .toStdString(),
        "t|0");
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerWriters, OneSetBelongsToOneMeterWhoeverIsFirst)
{
    ServerWard ward;
    std::atomic<int> told = 0;
    std::atomic<int> refused = 0;
    {
        std::vector<std::jthread> hands;
        for (int i = 1; i <= 2; ++i)
            hands.emplace_back([&, i] {
                Window own = ward.open("nurse");
                for (int n = 0; n < 40; ++n)
                    ++(own.record(ServerWard::run("mine-" + std::to_string(n), "M" + std::to_string(i), Level::Low, "60")) ? told
                                                                                                                           : refused);
            });
    }
    EXPECT_EQ(told, 40);
    EXPECT_EQ(refused, 40);
    EXPECT_EQ(ward.server()
                  .sql(ward.database(), QStringLiteral("SELECT count(*), count(DISTINCT set_id) FROM meterkeep.control_run"))
                  .toStdString(),
        "40|40");
}

TEST(ServerWriters, ALostAnswerNeitherDoublesNorDrops)
{
    ServerWard ward;
    LossyLine line(ward.server().port());
    Window nurse = ward.open(line.address(ward.database(), QStringLiteral("nurse")));
    for (int n = 0; n < 20; ++n) {
        line.breakAt(n % 2 == 0 ? LossyLine::Break::AfterCommit : LossyLine::Break::BeforeCommit);
        const std::string set = "set-" + std::to_string(n);
        const auto done = nurse.record(ServerWard::run(set, "M1", Level::Low, "60"));
        ASSERT_TRUE(done) << done.error().text;
        EXPECT_EQ(done->front().repeated, n % 2 == 0) << "arrived before the line broke, and is recognised";
        EXPECT_TRUE(done->front().set);
    }
    EXPECT_EQ(line.broken(), 20);
    EXPECT_EQ(
        ward.server()
            .sql(ward.database(), QStringLiteral("SELECT count(*), count(DISTINCT id) FROM meterkeep.journal WHERE act = 'control.run'"))
            .toStdString(),
        "20|20");
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerWriters, TwoCoordinatorsCannotSignOneMonthTwice)
{
    ServerWard ward;
    Window first = ward.open("coordinator");
    Window second = ward.open("coordinator");
    acts::ReviewSigned review;
    review.at = now();
    review.by = base::OperatorId("C1");
    review.month = "2024-05";
    std::atomic<int> signedTimes = 0;
    std::vector<std::string> refusals(2);
    {
        std::vector<std::jthread> hands;
        for (int i = 0; i < 2; ++i)
            hands.emplace_back([&, i] {
                Window own = ward.open("coordinator");
                const auto done = own.record(review);
                if (done)
                    ++signedTimes;
                else
                    refusals[static_cast<std::size_t>(i)] = done.error().code;
            });
    }
    EXPECT_EQ(signedTimes, 1) << refusals[0] << " / " << refusals[1];
    EXPECT_EQ(refusals[0] + refusals[1], "month-signed");
}

TEST(ServerWriters, AnotherWindowIsToldWithinASecond)
{
    ServerWard ward;
    Window watching = ward.open("nurse");
    QSqlDriver* driver = watching.session->listen();
    ASSERT_NE(driver, nullptr);
    int told = 0;
    QObject::connect(driver, &QSqlDriver::notification, driver, [&] { ++told; });
    Window writing = ward.open("nurse");
    ASSERT_TRUE(writing.record(ServerWard::run("one", "M1", Level::Low, "61")));
    const auto until = Clock::now() + std::chrono::seconds(1);
    while (told == 0 && Clock::now() < until)
        QCoreApplication::processEvents(QEventLoop::AllEvents, 50);
    EXPECT_GE(told, 1);
}

TEST(ServerWriters, OneWhoWaitsTooLongIsToldThatItIsBusy)
{
    ServerWard ward;
    Window nurse = ward.open("nurse");
    onPlainConnection(ward, QStringLiteral("holder"), [&](QSqlQuery& holder) {
        ASSERT_TRUE(holder.exec(QStringLiteral("BEGIN")));
        ASSERT_TRUE(holder.exec(QStringLiteral("SELECT pg_advisory_xact_lock(1299476336, 1)")));
        const auto done = nurse.record(ServerWard::run("one", "M1", Level::Low, "61"));
        ASSERT_FALSE(done);
        EXPECT_EQ(done.error().kind, base::FaultKind::Busy) << done.error().text;
        ASSERT_TRUE(holder.exec(QStringLiteral("ROLLBACK")));
    });
    EXPECT_TRUE(nurse.record(ServerWard::run("one", "M1", Level::Low, "61"))) << "and goes on afterwards";
    EXPECT_TRUE(ward.verification().holds());
}

} // namespace mk::server
