// SPDX-License-Identifier: GPL-3.0-or-later
// The chain as design.md describes it ("The journal"), recomputed here from the raw columns with another SHA-256 call; and its guards.
#include "store/store_desk.h"

#include "store/copies/verification.h"

#include <openssl/evp.h>

#include <gtest/gtest.h>

#include <QSqlRecord>

#include <QByteArray>
#include <QSqlError>
#include <QVariant>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

QByteArray sha256(const QByteArray& bytes)
{
    unsigned char digest[EVP_MAX_MD_SIZE];
    unsigned length = 0;
    EXPECT_EQ(EVP_Digest(bytes.constData(), static_cast<std::size_t>(bytes.size()), digest, &length, EVP_sha256(), nullptr), 1);
    return QByteArray(reinterpret_cast<const char*>(digest), static_cast<qsizetype>(length));
}

QByteArray jsonText(const QString& text)
{
    // Enough for this desk: nothing in these columns needs an escape.
    EXPECT_FALSE(text.contains(QLatin1Char('"')) || text.contains(QLatin1Char('\\')));
    return '"' + text.toUtf8() + '"';
}

void someEntries(StoreDesk& desk)
{
    desk.runSet("one", "2026-05-04T07:00", "61", "305");
    desk.runSet("two", "2026-05-05T07:00", "78", "298");
}

/// Does the statement fail, and the journal stay as it was?
void expectRefused(StoreDesk& desk, const char* sql)
{
    const auto before = desk.entries();
    desk.onPlainConnection([&](QSqlQuery& query) { EXPECT_FALSE(query.exec(QString::fromLatin1(sql))) << sql; });
    const auto after = desk.entries();
    ASSERT_EQ(after.size(), before.size()) << sql;
    for (std::size_t i = 0; i < before.size(); ++i) {
        EXPECT_EQ(after[i].digest, before[i].digest);
        EXPECT_EQ(after[i].body, before[i].body);
    }
}

} // namespace

TEST(Journal, TheChainRecomputesFromTheRawColumns)
{
    StoreDesk desk;
    someEntries(desk);
    desk.onPlainConnection([&](QSqlQuery& query) {
        ASSERT_TRUE(query.exec(
            QStringLiteral("SELECT seq, id, at, zone, station, operator, act, subject, body, prev, digest FROM journal ORDER BY seq")));
        QByteArray prev(32, '\0');
        qlonglong seq = 0;
        while (query.next()) {
            const auto text = [&](int column) { return query.value(column).toString(); };
            EXPECT_EQ(query.value(0).toLongLong(), ++seq) << "without gaps";
            EXPECT_EQ(text(9).toLatin1(), prev.toHex());
            const QByteArray document = "{\"act\":" + jsonText(text(6)) + ",\"at\":" + QByteArray::number(query.value(2).toLongLong())
                + ",\"body\":" + text(8).toUtf8() + ",\"id\":" + jsonText(text(1)) + ",\"operator\":" + jsonText(text(5))
                + ",\"seq\":" + QByteArray::number(seq) + ",\"station\":" + jsonText(text(4)) + ",\"subject\":" + jsonText(text(7))
                + ",\"zone\":" + jsonText(text(3)) + "}";
            prev = sha256(prev + document);
            EXPECT_EQ(text(10).toLatin1(), prev.toHex()) << "entry " << seq;
        }
        EXPECT_EQ(seq, desk.head().value);
    });
}

TEST(Journal, ColumnsAreThoseOfTheContract)
{
    StoreDesk desk;
    desk.onPlainConnection([&](QSqlQuery& query) {
        ASSERT_TRUE(query.exec(QStringLiteral("SELECT * FROM journal LIMIT 1")));
        ASSERT_TRUE(query.next());
        QStringList names;
        for (int i = 0; i < query.record().count(); ++i)
            names << query.record().fieldName(i);
        EXPECT_EQ(names.join(QStringLiteral(", ")).toStdString(), "seq, id, at, zone, station, operator, act, subject, body, prev, digest");
    });
    const Entry founding = desk.entries().front();
    EXPECT_EQ(founding.act, "registry.founded");
    EXPECT_EQ(founding.at, desk.at("2026-05-01T05:00").utcMs);
    EXPECT_EQ(founding.zone, "+02:00");
    EXPECT_EQ(founding.prev, std::string(64, '0'));
}

TEST(Journal, EveryStoredBodyIsCanonical)
{
    StoreDesk desk;
    someEntries(desk);
    for (const auto& entry : desk.entries())
        EXPECT_EQ(Json::parse(entry.body).value().canonical(), entry.body) << entry.act;
}

TEST(Journal, ValuesAreKeptAsTyped)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    desk.record(desk.aRun("typed", "2026-05-04T07:00", Level::Low, "60.50"));
    EXPECT_NE(desk.entriesOf("control.run").front().body.find("\"result\":\"60.50\""), std::string::npos);
    EXPECT_NE(desk.entriesOf("control.run").front().body.find("\"unit\":\"mg/dL\""), std::string::npos);
}

TEST(JournalGuard, RefusesUpdateDeleteAndReplace)
{
    StoreDesk desk;
    someEntries(desk);
    expectRefused(desk, "UPDATE journal SET body = '{}' WHERE seq = 5");
    expectRefused(desk, "UPDATE journal SET seq = 1000");
    expectRefused(desk, "DELETE FROM journal WHERE seq = 5");
    expectRefused(desk, "DELETE FROM journal");
    expectRefused(desk,
        "INSERT OR REPLACE INTO journal SELECT seq, id, at, zone, station, operator, act, subject, '{}', prev, digest FROM journal WHERE "
        "seq = 5");
    expectRefused(desk,
        "REPLACE INTO journal SELECT seq, 'other', at, zone, station, operator, act, subject, '{}', prev, digest FROM journal WHERE seq = "
        "5");
    expectRefused(desk,
        "INSERT OR REPLACE INTO journal SELECT (SELECT max(seq) + 1 FROM journal), id, at, zone, station, operator, act, subject, body, "
        "prev, digest FROM journal WHERE seq = 5");
    expectRefused(desk, "UPDATE OR REPLACE journal SET id = (SELECT id FROM journal WHERE seq = 4) WHERE seq = 5");
    expectRefused(desk,
        "INSERT INTO journal SELECT seq, id, at, zone, station, operator, act, subject, '{}', prev, digest FROM journal WHERE seq = 5"
        " ON CONFLICT(seq) DO UPDATE SET body = excluded.body");
}

TEST(JournalGuard, RefusesAGap)
{
    StoreDesk desk;
    expectRefused(desk,
        "INSERT INTO journal SELECT seq + 1000, 'new', at, zone, station, operator, act, subject, body, prev, digest FROM journal WHERE "
        "seq = 5");
    expectRefused(desk,
        "INSERT INTO journal SELECT -5, 'new', at, zone, station, operator, act, subject, body, prev, digest FROM journal WHERE seq = 5");
}

TEST(Registrar, ARepeatedDeliveryIsRecognised)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    const std::string id = "3f0c1f9e-0000-4000-8000-00000000abcd";
    const Outcome first = desk.record(desk.aRun("one", "2026-05-04T07:00", Level::Low, "61"), id);
    EXPECT_FALSE(first.repeated);
    const base::Seq head = desk.head();
    for (int i = 0; i < 2; ++i) {
        const Outcome again = desk.record(desk.aRun("one", "2026-05-04T07:00", Level::Low, "61"), id);
        EXPECT_TRUE(again.repeated);
        EXPECT_EQ(again.seq, first.seq);
        EXPECT_EQ(desk.head(), head);
        desk.reopen();
    }
    EXPECT_EQ(desk.set("one").runs.size(), 1U);
}

TEST(Registrar, ARepeatedIdWithinOneBatchIsWrittenOnce)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    const std::string id = "3f0c1f9e-0000-4000-8000-00000000abce";
    const std::vector<NewAct> twice(2, NewAct { desk.aRun("one", "2026-05-04T07:00", Level::Low, "61"), id });
    const auto outcomes = desk.registrar().record(twice, { {}, "desk" });
    ASSERT_TRUE(outcomes);
    EXPECT_FALSE((*outcomes)[0].repeated);
    EXPECT_TRUE((*outcomes)[1].repeated);
    EXPECT_EQ(desk.set("one").runs.size(), 1U);
}

TEST(Registrar, ABatchIsAllOrNothing)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    const base::Seq before = desk.head();
    auto unknown = desk.aRun("one", "2026-05-04T07:00", Level::High, "300");
    unknown.meter = base::MeterId("M9");
    const std::vector<NewAct> batch { { desk.aRun("one", "2026-05-04T07:00", Level::Low, "61"), {} }, { unknown, {} } };
    const auto outcomes = desk.registrar().record(batch, { {}, "desk" });
    ASSERT_FALSE(outcomes);
    EXPECT_EQ(outcomes.error().kind, base::FaultKind::NotFound);
    EXPECT_EQ(desk.head(), before);
    EXPECT_TRUE(desk.entriesOf("control.run").empty());
    // And the registrar goes on as if nothing had been.
    desk.runSet("two", "2026-05-04T08:00", "61", "305");
    EXPECT_EQ(desk.set("two").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(Registrar, AFailedControlAndItsHoldStandInOneTransaction)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    const Outcome outcome = desk.record(desk.aRun("one", "2026-05-04T07:00", Level::Low, "78"));
    ASSERT_EQ(outcome.consequences.size(), 2U);
    EXPECT_EQ(outcome.consequences[0].act, "control.judged");
    EXPECT_EQ(outcome.consequences[1].act, "meter.held");
    ASSERT_TRUE(outcome.set);
    EXPECT_EQ(outcome.set->judged.verdict, Verdict::Rejected);
}

TEST(Registrar, RefusesTheFuture)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    const auto outcomes = desk.tryRecord(desk.aRun("one", "2026-05-04T07:01", Level::Low, "61"));
    ASSERT_FALSE(outcomes);
    EXPECT_EQ(outcomes.error().kind, base::FaultKind::BadInput);
}

TEST(Registrar, TwoOfThemOnOneFileKeepOneOrder)
{
    StoreDesk desk;
    auto other = Session::open(desk.path(), Session::Access::ReadWrite);
    ASSERT_TRUE(other);
    auto second = Registrar::open(
        **other, [&] { return desk.now().utcMs; }, [&] { return desk.now().utcMs; });
    ASSERT_TRUE(second);
    desk.goTo("2026-05-04T07:00");
    desk.record(desk.aRun("shared", "2026-05-04T07:00", Level::Low, "60"));
    const NewAct high { desk.aRun("shared", "2026-05-04T07:00", Level::High, "300"), {} };
    const auto outcome = (*second)->record({ &high, 1 }, { {}, "other" });
    ASSERT_TRUE(outcome) << outcome.error().text;
    ASSERT_TRUE(outcome->front().set);
    EXPECT_EQ(outcome->front().set->judged.verdict, Verdict::Accepted) << "the second one saw what the first had written";
    desk.runSet("next", "2026-05-05T07:00", "61", "301");
    EXPECT_EQ(desk.set("next").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

} // namespace mk::store
