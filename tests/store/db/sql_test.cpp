// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/rows.h"
#include "store/index/rows/catalogue_rows.h"
#include "store/journal/journal.h"
#include "support/private_server.h"

#include <gtest/gtest.h>

#include <QTemporaryDir>

namespace mk::store {

namespace {

/// An empty registry, and whether questions to it are answered.
struct Asked {
    QTemporaryDir folder;
    std::unique_ptr<Session> session = Session::create(support::newPlace(folder.filePath(QStringLiteral("asked.mk")))).value();

    base::Done ask(const Sql& sql)
    {
        return eachRow(*session, sql, {}, [](const Statement&) { return base::Done(); });
    }
    base::Done ask(const char* text)
    {
        return eachRow(*session, text, {}, [](const Statement&) { return base::Done(); });
    }
    /// Where it is written, it is refused.
    base::Done writeWardWithoutId()
    {
        static const Sql sql(Writes { WardRow::table }, "INSERT INTO ward (ward, name, from_seq) VALUES (:ward, :name, 1)");
        return execute(*session, sql, { { "ward", QVariant() }, { "name", QVariant() } });
    }
};

const Select<WardRow> kWards("ORDER BY ward");
const Select<ModelRow> kModels("ORDER BY model");

} // namespace

TEST(Sql, AValueStandsWhereverItsNameDoes)
{
    const Sql sql("SELECT 1 WHERE a <= :known AND b > :other AND c > :known");
    EXPECT_STREQ(sql.text(), "SELECT 1 WHERE a <= ? AND b > ? AND c > ?");
    const auto values = sql.placed({ { "other", 2 }, { "known", 1 } });
    ASSERT_TRUE(values);
    EXPECT_EQ(*values, (QVariantList { 1, 2, 1 }));
}

TEST(Sql, TextsAndCastsHoldNoNames)
{
    EXPECT_STREQ(Sql("SELECT a::text, 'at :noon' WHERE b = :b").text(), "SELECT a::text, 'at :noon' WHERE b = ?");
}

TEST(Sql, AMisspeltNameIsAFault)
{
    const Sql sql("SELECT 1 WHERE meter = :meter AND ward = :ward");
    EXPECT_FALSE(sql.placed({ { "meter", 1 }, { "wrd", 2 } }));
    EXPECT_FALSE(sql.placed({ { "meter", 1 } }));
    EXPECT_FALSE(sql.placed({ { "meter", 1 }, { "ward", 2 }, { "level", 3 } }));
    EXPECT_TRUE(sql.placed({ { "meter", 1 }, { "ward", 2 } }));
}

TEST(Sql, AColumnThatIsNotThereIsAFault)
{
    const auto session = Session::scratch();
    ASSERT_TRUE(session);
    static const Sql sql("SELECT 7 AS days");
    std::int64_t days = 0;
    EXPECT_TRUE(eachRow(**session, sql, {}, [&](const Statement& row) {
        days = row.number("days");
        return base::Done();
    }));
    EXPECT_EQ(days, 7);
    EXPECT_FALSE(eachRow(**session, sql, {}, [&](const Statement& row) {
        EXPECT_FALSE(row.textOr("hours"));
        return base::Done();
    }));
}

TEST(Sql, ARehearsedStatementKnowsItsColumnsToo)
{
    const auto session = Session::scratch();
    ASSERT_TRUE(session);
    static const Sql sql("SELECT 7 AS days, 'M1' AS meter");
    (*session)->rehearse();
    for (int i = 0; i < 2; ++i)
        EXPECT_TRUE(eachRow(**session, sql, {}, [&](const Statement& row) {
            EXPECT_EQ(row.text("meter"), "M1");
            EXPECT_EQ(row.number("days"), 7);
            return base::Done();
        }));
}

TEST(SqlTables, AreKnownToWhatIsMadeOfARowType)
{
    EXPECT_EQ(kWards.reads(), Sql::Tables { "ward" });
    EXPECT_TRUE(kWards.writes().empty());
    const Close<WardRow> close("ward = :ward");
    EXPECT_TRUE(close.reads().empty());
    EXPECT_EQ(close.writes(), Sql::Tables { "ward" });
    const Sql entry(writesOf<Entry>(), insertInto(Entry::table, columnsOf<Entry>()));
    EXPECT_EQ(entry.writes(), (Sql::Tables { "journal", "journal_id" }));
}

TEST(SqlTables, AreThoseOfTheText)
{
    const Sql joined({ "meter", "ward" }, "SELECT 1 FROM meter m JOIN ward w ON w.ward = m.ward WHERE m.note <> 'FROM model'");
    const Sql within({ "meter", "ward" }, "SELECT 1 FROM (SELECT ward FROM meter) AS m WHERE EXISTS (SELECT 1 FROM ward)");
    const Sql copied(Writes { "ward" }, { "meter" }, "INSERT INTO ward (ward) SELECT ward FROM meter");
    const Sql either(Writes { "ward" }, "INSERT INTO ward (ward) VALUES (:ward) ON CONFLICT (ward) DO UPDATE SET ward = excluded.ward");
    const Sql gone(Writes { "ward" }, "DELETE FROM ward WHERE ward = :ward");
    const Sql function({ "credential" }, "SELECT seal FROM credential_seals()");
}

TEST(SqlTables, WronglySaidEndTheProgram)
{
    EXPECT_DEATH(Sql("SELECT 1 FROM ward"), "");
    EXPECT_DEATH(Sql({ "meter" }, "SELECT 1 FROM meter m JOIN ward w ON w.ward = m.ward"), "");
    EXPECT_DEATH(Sql({ "meter", "ward" }, "SELECT ward FROM meter"), "") << "a column is no table";
    EXPECT_DEATH(Sql({ "ward" }, "UPDATE ward SET to_seq = 1"), "");
    EXPECT_DEATH(Sql(Writes { "meter" }, "UPDATE ward SET to_seq = 1"), "");
    EXPECT_DEATH(Sql(Writes { "meter" }, { "ward" }, "SELECT 1 FROM ward"), "");
}

TEST(Rehearsed, AQuestionAboutWhatWasWrittenIsRefused)
{
    Asked place;
    place.session->rehearse();
    EXPECT_TRUE(place.ask(kWards));
    EXPECT_TRUE(place.writeWardWithoutId());
    EXPECT_TRUE(place.ask(kModels));
    const base::Done wards = place.ask(kWards);
    ASSERT_FALSE(wards);
    EXPECT_EQ(wards.error().kind, base::FaultKind::Conflict);
    const base::Done bare = place.ask("SELECT 1 AS one");
    ASSERT_FALSE(bare) << "nobody knows what it reads";
    EXPECT_EQ(bare.error().kind, base::FaultKind::Conflict);
    place.session->endRehearsal();
    EXPECT_TRUE(place.ask(kWards)) << "nothing was written";
}

TEST(Waiting, IsSentBeforeAQuestionAboutItsTableAndNoOther)
{
    Asked place;
    ASSERT_TRUE(place.session->begin());
    const base::Done written = place.writeWardWithoutId();
    ASSERT_EQ(written.operator bool(), place.session->isServer()) << "a file writes at once";
    if (written) {
        EXPECT_TRUE(place.ask(kModels));
        EXPECT_FALSE(place.ask(kWards)) << "now it was sent, and refused";
    }
    place.session->rollBack();
}

TEST(Waiting, IsSentBeforeABareText)
{
    Asked place;
    ASSERT_TRUE(place.session->begin());
    if (place.writeWardWithoutId()) {
        EXPECT_FALSE(place.ask("SELECT 1 AS one"));
    }
    place.session->rollBack();
}

TEST(Waiting, EntriesAreSentBeforeAQuestionAboutTheirIds)
{
    Asked place;
    if (!place.session->isServer()) // a file keeps no ids beside the journal
        return;
    ASSERT_TRUE(place.session->begin());
    ASSERT_TRUE(appendEntry(*place.session, Entry {})) << "it waits";
    EXPECT_FALSE(entryWithId(*place.session, "any")) << "the journal's guard refused it";
    place.session->rollBack();
}

} // namespace mk::store
