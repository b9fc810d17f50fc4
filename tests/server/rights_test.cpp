// SPDX-License-Identifier: GPL-3.0-or-later
// What the database itself lets each of its roles do, with the program out of the way: every statement here is sent past it.
#include "server/server_ward.h"
#include "store/engines/server_care.h"

#include <gtest/gtest.h>

#include <QProcess>
#include <QSqlDatabase>
#include <QSqlError>
#include <QSqlQuery>
#include <QVariant>

namespace mk::server {
namespace {

using namespace registry;

/// The SQLSTATE with which a login's statement ends; empty where it was done.
std::string stateOf(ServerWard& ward, const char* login, const QString& sql)
{
    std::string state;
    const QString name = QStringLiteral("hand-of-%1").arg(QLatin1String(login));
    {
        QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QPSQL"), name);
        database.setHostName(ward.server().folder());
        database.setPort(ward.server().port());
        database.setDatabaseName(ward.database());
        database.setUserName(QString::fromLatin1(login));
        EXPECT_TRUE(database.open()) << database.lastError().text().toStdString();
        QSqlQuery query(database);
        EXPECT_TRUE(query.exec(QStringLiteral("SET search_path = meterkeep, pg_temp")));
        if (!query.exec(sql))
            state = query.lastError().nativeErrorCode().toStdString();
    }
    QSqlDatabase::removeDatabase(name);
    return state;
}

/// An INSERT of an entry that follows from the head, digested by the server itself; parts of it may be spoilt.
QString entry(const QString& kind, const QString& seq = QStringLiteral("h.seq + 1"), const QString& prev = QStringLiteral("h.digest"),
    const QString& digest = QStringLiteral("encode(sha256(decode(h.digest, 'hex') || convert_to(d.text, 'UTF8')), 'hex')"),
    const QString& id = QStringLiteral("'hand-' || h.seq"))
{
    return QStringLiteral(
        "INSERT INTO journal SELECT %2, %5, 1, '+01:00', 'x', 'N1', '%1', 'M1', '{}', %3, %4 FROM (SELECT seq, digest FROM journal ORDER BY seq DESC LIMIT 1) h"
        " CROSS JOIN LATERAL (SELECT '{\"act\":\"%1\",\"at\":1,\"body\":{},\"id\":' || to_json(%5)::text || ',\"operator\":\"N1\",\"seq\":' || (%2)"
        " || ',\"station\":\"x\",\"subject\":\"M1\",\"zone\":\"+01:00\"}' AS text) d")
        .arg(kind, seq, prev, digest, id);
}

constexpr const char* kDenied = "42501"; // insufficient_privilege
constexpr const char* kUnchained = "MK001";
constexpr const char* kNeverChanged = "MK002";
constexpr const char* kNotThisRole = "MK003";

} // namespace

TEST(ServerRights, NobodyChangesOrDeletesAnEntry)
{
    ServerWard ward;
    for (const char* login : { "nurse", "coordinator", "inspector" })
        for (const char* sql : { "UPDATE journal SET body = '{}'", "DELETE FROM journal WHERE seq = 3", "TRUNCATE journal",
                 "DELETE FROM journal_id", "UPDATE journal_from_1 SET body = '{}'", "INSERT INTO journal_id VALUES ('x', 99)",
                 "DROP TABLE journal", "ALTER TABLE journal DISABLE TRIGGER ALL" })
            EXPECT_EQ(stateOf(ward, login, QString::fromLatin1(sql)), kDenied) << login << ": " << sql;
    // The owner of the tables and the superuser have the right, and are stopped by the triggers as long as these stand.
    for (const char* login : { "keeper", "keeper_of_all" })
        for (const char* sql : { "UPDATE journal SET body = '{}' WHERE seq = 3", "DELETE FROM journal WHERE seq = 3", "TRUNCATE journal",
                 "TRUNCATE journal_from_1", "DELETE FROM journal_from_1 WHERE seq = 3", "DELETE FROM journal_id",
                 "UPDATE journal_id SET seq = 1" })
            EXPECT_EQ(stateOf(ward, login, QString::fromLatin1(sql)), kNeverChanged) << login << ": " << sql;
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerRights, AnEntryIsTakenOnlyWhereItFollowsFromTheHead)
{
    ServerWard ward;
    const QString good = QStringLiteral("note.added");
    const std::int64_t before = ward.verification().entries;
    EXPECT_EQ(stateOf(ward, "nurse", entry(good, QStringLiteral("h.seq + 2"))), kUnchained) << "a gap";
    EXPECT_EQ(stateOf(ward, "nurse", entry(good, QStringLiteral("h.seq"))), kUnchained) << "a number twice";
    EXPECT_EQ(stateOf(ward, "nurse", entry(good, QStringLiteral("h.seq + 1"), QStringLiteral("repeat('0', 64)"))), kUnchained)
        << "another predecessor";
    EXPECT_EQ(
        stateOf(ward, "nurse", entry(good, QStringLiteral("h.seq + 1"), QStringLiteral("h.digest"), QStringLiteral("repeat('a', 64)"))),
        kUnchained)
        << "another digest";
    EXPECT_EQ(stateOf(ward, "keeper_of_all", entry(good, QStringLiteral("h.seq + 2"))), kUnchained) << "the superuser neither";
    EXPECT_EQ(ward.verification().entries, before);
    EXPECT_EQ(stateOf(ward, "nurse",
                  entry(good, QStringLiteral("h.seq + 1"), QStringLiteral("h.digest"),
                      QStringLiteral("encode(sha256(decode(h.digest, 'hex') || convert_to(d.text, 'UTF8')), 'hex')"),
                      QStringLiteral("(SELECT id FROM journal WHERE seq = 2)"))),
        "23505")
        << "an id twice";
    EXPECT_EQ(stateOf(ward, "nurse", entry(good)), "") << "one that follows is taken: the test's own entry is well made";
    const auto after = ward.verification();
    EXPECT_EQ(after.entries, before + 1);
    EXPECT_TRUE(after.chainIntact);
}

TEST(ServerRights, EachRoleAppendsItsOwnKinds)
{
    ServerWard ward;
    for (const char* kind : { "policy.changed", "review.signed", "operator.changed", "operator.competency", "meter.enrolled",
             "notice.closed", "late_entry.accepted", "sign_in.unlocked", "registry.moved", "registry.founded" })
        EXPECT_EQ(stateOf(ward, "nurse", entry(QString::fromLatin1(kind))), kNotThisRole) << kind;
    for (const char* kind : { "control.run", "incident.reported", "note.added", "policy.changed" })
        EXPECT_EQ(stateOf(ward, "inspector", entry(QString::fromLatin1(kind))), kNotThisRole) << kind;
    for (const char* kind : { "control.run", "note.added", "policy.changed", "registry.founded" })
        EXPECT_EQ(stateOf(ward, "keeper", entry(QString::fromLatin1(kind))), kNotThisRole)
            << "who keeps the schema records nothing: " << kind;
    EXPECT_EQ(stateOf(ward, "inspector", entry(QStringLiteral("records.shown"))), "");
    EXPECT_EQ(stateOf(ward, "coordinator", entry(QStringLiteral("notice.closed"))), "");
    EXPECT_TRUE(ward.verification().chainIntact);
}

TEST(ServerRights, TheIndexGrowsAndClosesButForgetsNothing)
{
    ServerWard ward;
    for (const char* login : { "nurse", "coordinator" })
        for (const char* sql : { "DELETE FROM control_run", "TRUNCATE set_verdict", "UPDATE control_run SET result = '100'",
                 "UPDATE set_verdict SET verdict = 'accepted'", "UPDATE meter_state SET state = 'in-service'", "DELETE FROM meter_stop",
                 "SELECT * FROM credential", "INSERT INTO schema_version VALUES (99)" })
            EXPECT_EQ(stateOf(ward, login, QString::fromLatin1(sql)), kDenied) << login << ": " << sql;
    for (const char* sql :
        { "INSERT INTO note VALUES ('M1', 1, 'x', 'x', 'x')", "UPDATE meter SET to_seq = 5", "SELECT * FROM credential" })
        EXPECT_EQ(stateOf(ward, "inspector", QString::fromLatin1(sql)), kDenied) << sql;
    EXPECT_EQ(stateOf(ward, "nurse", QStringLiteral("UPDATE meter SET to_seq = NULL WHERE meter = 'nobody'")), "");
}

TEST(ServerRights, TheProgramWorksWithThemAndSaysWhereItMayNot)
{
    ServerWard ward;
    Window nurse = ward.open("nurse");
    ASSERT_TRUE(nurse.record(ServerWard::run("one", "M1", Level::Low, "61")));
    const auto done = nurse.record(ServerWard::run("one", "M1", Level::High, "301"));
    ASSERT_TRUE(done) << done.error().text;
    ASSERT_TRUE(done->front().set);
    EXPECT_EQ(done->front().set->judged.verdict, Verdict::Accepted);

    acts::WardAdded added { base::WardId("W2"), "Ward two" };
    const auto refused = nurse.record(added);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().kind, base::FaultKind::Denied);
    EXPECT_NE(refused.error().text.find("Ask for the right role"), std::string::npos) << refused.error().text;
    EXPECT_TRUE(ward.open("coordinator").record(added));

    Window inspector = ward.open(ward.address("inspector"), store::Session::Access::ReadOnly);
    const auto written = inspector.record(ServerWard::run("two", "M1", Level::Low, "61"));
    ASSERT_FALSE(written);
    EXPECT_EQ(written.error().kind, base::FaultKind::ReadOnly) << written.error().text;
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerRights, VerifyFindsAGuardThatWasTakenAway)
{
    const struct {
        const char* sql;
        const char* said;
    } kTricks[] = {
        { "ALTER TABLE journal DISABLE TRIGGER journal_never_changed", "journal_never_changed" },
        { "DROP TRIGGER journal_guard ON journal", "journal_guard" },
        { "GRANT DELETE ON journal TO meterkeep_record", "change or delete" },
        { "GRANT UPDATE (body) ON journal TO meterkeep_record", "columns of the journal" },
        { "CREATE OR REPLACE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'", "function" },
        { "DROP INDEX journal_by_kind", "journal_by_kind" },
        { "ALTER TABLE note ADD COLUMN secret text", "note" },
    };
    for (const auto& trick : kTricks) {
        ServerWard ward;
        ASSERT_TRUE(ward.verification().holds());
        EXPECT_EQ(ward.server()
                      .sql(ward.database(), QStringLiteral("SET search_path = meterkeep; ") + QString::fromLatin1(trick.sql))
                      .toStdString(),
            "")
            << trick.sql;
        const auto found = ward.verification();
        EXPECT_TRUE(found.chainIntact);
        EXPECT_FALSE(found.indexMatches) << trick.sql;
        std::string all;
        for (const auto& part : found.differsIn)
            all += part + "\n";
        EXPECT_NE(all.find(trick.said), std::string::npos) << trick.sql << " gave: " << all;
    }
}

TEST(ServerSession, TellsOfAnyStatementOfAText)
{
    ServerWard ward;
    ward.server().sql(ward.database(), QStringLiteral("DELETE FROM meterkeep.schema_version"));
    // The version is missing, so the migration runs again and fails in the middle of its text, where the schema exists.
    const auto again = store::upgradeServer(ward.address("keeper"), {});
    ASSERT_FALSE(again);
    EXPECT_EQ(again.error().kind, base::FaultKind::NotFound) << again.error().text;
    const auto made = store::Session::create(ward.address("keeper"));
    ASSERT_FALSE(made) << "half a schema is none";
}

TEST(ServerMonths, ThePartitionEndsAndEverythingGoesOn)
{
    ServerWard ward;
    Window nurse = ward.open("nurse");
    ASSERT_TRUE(nurse.record(ServerWard::run("before", "M1", Level::Low, "61")));
    const auto startMonth = [&](const char* day) {
        return ward.server()
            .sql(ward.database(), QStringLiteral("SET ROLE meterkeep_migrate; SELECT meterkeep.start_month('%1')").arg(QLatin1String(day)))
            .toStdString();
    };
    const std::int64_t head = ward.verification().entries;
    EXPECT_EQ(startMonth("2020-01-15"), "journal_from_1") << "nothing is older than that month";
    EXPECT_EQ(startMonth("2037-02-01"), "journal_from_" + std::to_string(head + 1));
    EXPECT_EQ(startMonth("2037-02-02"), "journal_from_" + std::to_string(head + 1)) << "once a month";
    ASSERT_TRUE(nurse.record(ServerWard::run("before", "M1", Level::High, "301"))) << "a set on both sides of the cut";
    EXPECT_EQ(startMonth("2037-03-01"), "journal_from_" + std::to_string(ward.verification().entries + 1));
    ASSERT_TRUE(nurse.record(ServerWard::run("after", "M2", Level::Low, "60")));
    const auto found = ward.verification();
    EXPECT_TRUE(found.holds()) << (found.differsIn.empty() ? std::string() : found.differsIn.front());
    EXPECT_EQ(stateOf(ward, "keeper", QStringLiteral("TRUNCATE journal_from_%1").arg(head + 1)), kNeverChanged)
        << "a later partition is guarded as the first";
    EXPECT_EQ(stateOf(ward, "nurse",
                  entry(QStringLiteral("note.added"), QStringLiteral("h.seq + 1"), QStringLiteral("h.digest"),
                      QStringLiteral("encode(sha256(decode(h.digest, 'hex') || convert_to(d.text, 'UTF8')), 'hex')"),
                      QStringLiteral("(SELECT id FROM journal WHERE seq = 2)"))),
        "23505")
        << "an id of an earlier month";
    const QString plan = ward.server().sql(ward.database(), QStringLiteral("EXPLAIN SELECT * FROM meterkeep.journal WHERE seq = 5"));
    EXPECT_EQ(plan.count(QStringLiteral("journal_from_")), 2) << "one partition, named by table and key:\n" << plan.toStdString();
}

namespace {

/// What meterkeep-cli prints; its error line where it fails.
std::string printed(const QStringList& arguments)
{
    QProcess cli;
    cli.start(QStringLiteral(MK_CLI), arguments);
    EXPECT_TRUE(cli.waitForFinished());
    return (cli.exitCode() == 0 ? cli.readAllStandardOutput() : "FAILED: " + cli.readAllStandardError()).toStdString();
}

} // namespace

// Schema 4 adds indexes, schema 5 columns of a run's verdict: a registry of schema 3 is one without them.
TEST(ServerCare, ARegistryOfTheSchemaBeforeIsUpgradedByItsKeeper)
{
    ServerWard ward;
    EXPECT_EQ(
        ward.server()
            .sql(ward.database(),
                QStringLiteral(
                    "SET search_path = meterkeep; DROP INDEX control_run_by_meter, control_run_by_strip_vial, control_run_by_control_vial, comparison_by_strip_vial, set_verdict_not_at_once;"
                    " ALTER TABLE run_verdict DROP COLUMN u, DROP COLUMN usual, DROP COLUMN base;"
                    " DELETE FROM schema_version WHERE version > 3"))
            .toStdString(),
        "");
    const QString registry = QStringLiteral("--registry");
    const QString keeper = QString::fromStdString(ward.address("keeper"));
    const QString nurse = QString::fromStdString(ward.address("nurse"));
    EXPECT_NE(printed({ registry, nurse, QStringLiteral("board") }).find("'meterkeep-cli server upgrade'"), std::string::npos);
    EXPECT_NE(printed({ registry, nurse, QStringLiteral("server"), QStringLiteral("upgrade") }).find("FAILED"), std::string::npos)
        << "only its keeper changes the schema";
    EXPECT_EQ(printed({ registry, keeper, QStringLiteral("server"), QStringLiteral("upgrade") }), "The schema went from version 3 to 5.\n");
    EXPECT_EQ(printed({ registry, nurse, QStringLiteral("board") }).find("FAILED"), std::string::npos);
    EXPECT_TRUE(ward.verification().holds()) << "every index is there";
    EXPECT_EQ(ward.server().sql(ward.database(), QStringLiteral("DROP INDEX meterkeep.control_run_by_meter")).toStdString(), "");
    EXPECT_FALSE(ward.verification().holds()) << "and is missed where it is lost";
}

TEST(ServerCare, IsDoneWithTheCommandsOfTheProgram)
{
    ServerWard ward;
    const QString registry = QStringLiteral("--registry");
    const QString keeper = QString::fromStdString(ward.address("keeper"));
    EXPECT_NE(printed({ QStringLiteral("server"), QStringLiteral("roles") }).find("CREATE ROLE"), std::string::npos);
    EXPECT_EQ(printed({ registry, keeper, QStringLiteral("server"), QStringLiteral("month") }), "New entries go into journal_from_1.\n");
    EXPECT_EQ(
        printed({ registry, keeper, QStringLiteral("server"), QStringLiteral("upgrade") }), "The schema is up to date (version 5).\n");
    const QString nurse = QString::fromStdString(ward.address("nurse"));
    EXPECT_NE(printed({ registry, nurse, QStringLiteral("server"), QStringLiteral("month") }).find("FAILED"), std::string::npos);
    EXPECT_NE(printed({ registry, QStringLiteral("ward.mkr"), QStringLiteral("server"), QStringLiteral("month") })
                  .find("is a file, which needs no such care"),
        std::string::npos);
}

TEST(ServerRights, AnEntryThatNobodyCouldReadIsNotTaken)
{
    ServerWard ward;
    for (const auto& [body, state] : { std::pair("not json", "22P02"), std::pair("[1]", kUnchained), std::pair("", "22P02") })
        EXPECT_EQ(
            stateOf(ward, "nurse",
                QStringLiteral(
                    "INSERT INTO journal SELECT seq + 1, 'hand', 1, '+01:00', 'x', 'N1', 'note.added', 'M1', '%1', digest, repeat('0', 64)"
                    " FROM journal ORDER BY seq DESC LIMIT 1")
                    .arg(QLatin1String(body))),
            state)
            << body;
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerRights, ARowOfTheIndexThatNoEntryCarriesIsFoundByVerify)
{
    ServerWard ward;
    EXPECT_TRUE(ward.verification().unverified.empty()) << "every table is accounted for";
    // The programs of the ward write the index with this login, so it can be written past them.
    ASSERT_EQ(
        stateOf(ward, "nurse", QStringLiteral("INSERT INTO operator (operator, role, from_seq) VALUES ('X9', 'coordinator', 3)")), "");
    const auto found = ward.verification();
    EXPECT_TRUE(found.chainIntact);
    EXPECT_FALSE(found.indexMatches);
    ASSERT_EQ(found.differsIn.size(), 1U);
    EXPECT_EQ(found.differsIn.front(), "operator");
}

} // namespace mk::server
