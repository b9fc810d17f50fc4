// SPDX-License-Identifier: GPL-3.0-or-later
// Story S46: somebody changes the file outside the program. Expectations from handbook 8.6 and interface.md, `verify` and The file.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

#include <QFile>
#include <QSqlDatabase>
#include <QSqlError>
#include <QSqlQuery>
#include <QVariant>

namespace mk::journeys {
namespace {

using namespace registry;

/// Runs statements on the file as somebody would who owns the machine, the triggers put back afterwards.
void asAttacker(WardWorld& ward, const QStringList& statements)
{
    support::pastTheProgram(ward.path(), [&](QSqlQuery& query) {
        QStringList triggers;
        if (support::onServer()) {
            ASSERT_TRUE(query.exec(QStringLiteral("SET session_replication_role = replica"))); // no trigger fires on this connection
        } else {
            ASSERT_TRUE(query.exec(QStringLiteral("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")));
            QStringList names;
            while (query.next()) {
                names << query.value(0).toString();
                triggers << query.value(1).toString();
            }
            ASSERT_EQ(names.size(), 3);
            for (const auto& trigger : names)
                ASSERT_TRUE(query.exec(QStringLiteral("DROP TRIGGER ") + trigger)) << query.lastError().text().toStdString();
        }
        for (const auto& statement : statements)
            ASSERT_TRUE(query.exec(statement)) << query.lastError().text().toStdString();
        for (const auto& trigger : triggers)
            ASSERT_TRUE(query.exec(trigger));
    });
}

void twoDays(WardWorld& ward)
{
    ward.runSet("one", "2026-05-04T07:00", "61", "305");
    ward.runSet("two", "2026-05-05T07:00", "62", "298");
}

QString text(std::int64_t number)
{
    return QString::number(number);
}

} // namespace

TEST(Story, S46_AnUntouchedFileHolds)
{
    WardWorld ward;
    twoDays(ward);
    const auto found = ward.verification();
    EXPECT_TRUE(found.holds());
    EXPECT_EQ(found.entries, ward.head().value);
    EXPECT_EQ(found.head, ward.entries().back().digest);
    EXPECT_TRUE(found.differsIn.empty());
    EXPECT_FALSE(found.headKnown) << "no printed digest was compared";
}

TEST(Story, S46_OneChangedByteOfAStoredValue)
{
    WardWorld ward;
    twoDays(ward);
    const auto run = ward.entriesOf("control.run")[2]; // 62 of the second day
    ASSERT_NE(run.body.find("\"62\""), std::string::npos);
    asAttacker(ward, { QStringLiteral("UPDATE journal SET body = replace(body, '\"62\"', '\"61\"') WHERE seq = ") + text(run.seq.value) });
    const auto found = ward.verification();
    EXPECT_FALSE(found.holds());
    EXPECT_FALSE(found.chainIntact);
    EXPECT_EQ(found.brokenAt, run.seq.value) << "the first broken record";
    EXPECT_FALSE(found.indexMatches) << "the index still tells the old value";
}

TEST(Story, S46_AnyColumnOfAnEntryIsCovered)
{
    for (const char* change :
        { "at = at + 1", "zone = '+01:00'", "station = 'x'", "operator = 'N2'", "act = 'note.added'", "subject = 'M2'", "id = 'x'" }) {
        WardWorld ward;
        ward.runSet("one", "2026-05-04T07:00", "61", "305");
        const auto run = ward.entriesOf("control.run").front();
        asAttacker(ward,
            { QStringLiteral("UPDATE journal SET ") + QString::fromLatin1(change) + QStringLiteral(" WHERE seq = ")
                + text(run.seq.value) });
        const auto found = ward.verification();
        EXPECT_FALSE(found.chainIntact) << change;
        EXPECT_EQ(found.brokenAt, run.seq.value) << change;
    }
}

TEST(Story, S46_ARemovedRow)
{
    WardWorld ward;
    twoDays(ward);
    const auto run = ward.entriesOf("control.run")[1];
    asAttacker(ward, { QStringLiteral("DELETE FROM journal WHERE seq = ") + text(run.seq.value) });
    const auto found = ward.verification();
    EXPECT_FALSE(found.chainIntact);
    EXPECT_EQ(found.brokenAt, run.seq.value);
}

TEST(Story, S46_ARemovedRowWithTheHoleClosed)
{
    WardWorld ward;
    twoDays(ward);
    const auto run = ward.entriesOf("control.run")[1];
    asAttacker(ward,
        { QStringLiteral("DELETE FROM journal WHERE seq = ") + text(run.seq.value),
            QStringLiteral("UPDATE journal SET seq = seq + 999999 WHERE seq > ") + text(run.seq.value),
            QStringLiteral("UPDATE journal SET seq = seq - 1000000 WHERE seq > 1000000") });
    const auto found = ward.verification();
    EXPECT_FALSE(found.chainIntact);
    EXPECT_EQ(found.brokenAt, run.seq.value) << "what stands there now does not follow";
}

TEST(Story, S46_ASwappedOrder)
{
    WardWorld ward;
    twoDays(ward);
    const std::int64_t first = ward.entriesOf("control.run")[0].seq.value;
    asAttacker(ward,
        { QStringLiteral("UPDATE journal SET seq = 1000000 WHERE seq = ") + text(first),
            QStringLiteral("UPDATE journal SET seq = %1 WHERE seq = %2").arg(first).arg(first + 1),
            QStringLiteral("UPDATE journal SET seq = %1 WHERE seq = 1000000").arg(first + 1) });
    const auto found = ward.verification();
    EXPECT_FALSE(found.chainIntact);
    EXPECT_EQ(found.brokenAt, first);
}

TEST(Story, S46_AnOlderCopyContradictsThePrintedHead)
{
    if (support::onServer())
        GTEST_SKIP() << "a copy of a file";
    WardWorld ward;
    ward.runSet("one", "2026-05-04T07:00", "61", "305");
    ward.reopen(); // brings everything into the main file
    const QString older = QString::fromStdString(ward.path()) + QStringLiteral(".older");
    {
        const QString name = QStringLiteral("copy");
        {
            QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), name);
            database.setDatabaseName(QString::fromStdString(ward.path()));
            ASSERT_TRUE(database.open());
            QSqlQuery query(database);
            ASSERT_TRUE(query.exec(QStringLiteral("VACUUM INTO '") + older + QStringLiteral("'")));
        }
        QSqlDatabase::removeDatabase(name);
    }
    const std::string earlier = ward.entries().back().digest;
    ward.runSet("two", "2026-05-05T07:00", "62", "298");
    const std::string printed = ward.entries().back().digest;
    EXPECT_EQ(store::verify(ward.session(), printed).value().headKnown, true);
    EXPECT_EQ(store::verify(ward.session(), earlier).value().headKnown, true) << "an earlier report's digest is in the chain too";

    const auto copy = store::Session::open(older.toStdString(), store::Session::Access::ReadOnly);
    ASSERT_TRUE(copy) << copy.error().text;
    const auto found = store::verify(**copy, printed);
    ASSERT_TRUE(found);
    EXPECT_TRUE(found->chainIntact) << "by itself an older copy is whole";
    EXPECT_EQ(found->headKnown, false);
    EXPECT_FALSE(found->holds());
}

TEST(Story, S46_AChangedIndexRowDiffers)
{
    WardWorld ward;
    twoDays(ward);
    asAttacker(ward, { QStringLiteral("UPDATE set_verdict SET verdict = 'rejected' WHERE set_id = 'two'") });
    const auto found = ward.verification();
    EXPECT_TRUE(found.chainIntact);
    EXPECT_FALSE(found.indexMatches);
    EXPECT_EQ(found.differsIn, std::vector<std::string> { "set_verdict" });
}

TEST(Story, S46_AMissingTriggerDiffersAndTheFileStillOpens)
{
    WardWorld ward;
    twoDays(ward);
    asAttacker(ward, {});
    support::pastTheProgram(ward.path(), [](QSqlQuery& query) {
        ASSERT_TRUE(query.exec(support::onServer() ? QStringLiteral("DROP TRIGGER journal_never_changed ON journal")
                                                   : QStringLiteral("DROP TRIGGER journal_no_delete")));
    });
    ward.reopen();
    const auto found = ward.verification();
    EXPECT_TRUE(found.chainIntact);
    EXPECT_FALSE(found.indexMatches);
    EXPECT_FALSE(found.holds());
}

} // namespace mk::journeys
