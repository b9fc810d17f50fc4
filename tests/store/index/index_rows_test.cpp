// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/index/rows/index_rows.h"

#include "store/index/filler.h"

#include "store/db/rows.h"
#include "store/journal/journal.h"
#include "support/private_server.h"

#include <gmock/gmock.h>

#include <QTemporaryDir>

#include <algorithm>
#include <set>

namespace mk::store {
namespace {

using namespace registry;
using ::testing::UnorderedElementsAreArray;

using sample::Filler;
using sample::zone;

/// An empty registry.
struct Place {
    QTemporaryDir folder;
    std::unique_ptr<Session> session = Session::create(support::newPlace(folder.filePath(QStringLiteral("rows.mk")))).value();
};

/// The names of an act's fields that hold nothing.
struct Unfilled {
    std::vector<std::string> names;
    void operator()(std::string_view, const auto&, acts::Field) { }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value, acts::Field)
    {
        if (!value)
            names.emplace_back(name);
    }
};

template <typename R>
R filled()
{
    R row {};
    Filler filler;
    R::describe(filler, row);
    return row;
}

/// Every column as text, with its name.
template <typename R>
std::vector<std::string> told(const R& row)
{
    std::vector<std::string> columns;
    for (const auto& [name, value] : valuesOf(row))
        columns.push_back(std::string(name) + (value.isNull() ? " is null" : " = " + value.toString().toStdString()));
    return columns;
}

std::vector<std::string> columnsOfTable(Session& session, std::string_view table)
{
    std::vector<std::string> names;
    const char* sql = session.isServer()
        ? "SELECT column_name::text AS name FROM information_schema.columns WHERE table_schema = 'meterkeep'"
          " AND table_name = ?"
        : "SELECT name FROM pragma_table_info(?)";
    EXPECT_TRUE(eachRow(session, sql, { bound(std::string(table)) }, [&](const Statement& row) {
        names.push_back(row.text("name"));
        return base::Done();
    }));
    return names;
}

} // namespace

TEST(IndexRows, WhatIsWrittenIsReadInEveryField)
{
    Place place;
    forEachRowType<IndexRows>([&]<typename R>() {
        SCOPED_TRACE(std::string(R::table));
        static const Select<R> sql("ORDER BY " + std::string(R::order));
        const R written = filled<R>();
        ASSERT_TRUE(insert(*place.session, written));
        const auto read = readRows(*place.session, sql, {}, zone());
        ASSERT_TRUE(read) << read.error().text;
        ASSERT_EQ(read->size(), 1u);
        EXPECT_EQ(told(read->front()), told(written));
        for (const auto& [name, value] : valuesOf(read->front()))
            EXPECT_FALSE(value.isNull()) << name;
    });
}

TEST(IndexRows, AnInstantComesBackWithTheRegistrysOffset)
{
    Place place;
    ASSERT_TRUE(insert(*place.session, filled<MeterWardRow>()));
    static const Select<MeterWardRow> sql("ORDER BY meter");
    const auto read = readRows(*place.session, sql, {}, zone());
    ASSERT_TRUE(read);
    EXPECT_EQ(read->front().since, filled<MeterWardRow>().since);
    EXPECT_EQ(read->front().since.offsetMinutes, 60);
}

TEST(IndexRows, NothingStaysNothing)
{
    Place place;
    const ComparisonRow unjudged = [] {
        auto row = filled<ComparisonRow>();
        row.judged = {};
        row.act.stripVial.reset();
        row.act.drawnAt.reset();
        row.version.to.reset();
        return row;
    }();
    ASSERT_TRUE(insert(*place.session, unjudged));
    static const Select<ComparisonRow> sql("ORDER BY meter");
    const auto read = readRows(*place.session, sql, {}, zone());
    ASSERT_TRUE(read);
    EXPECT_EQ(told(read->front()), told(unjudged));
    EXPECT_FALSE(read->front().judged.outcome);
    EXPECT_FALSE(read->front().act.drawnAt);
}

TEST(IndexRows, EachColumnHasAFieldOfItsOwn)
{
    forEachRowType<IndexRows>([]<typename R>() {
        const auto columns = columnsOf<R>();
        EXPECT_EQ(std::set(columns.begin(), columns.end()).size(), columns.size()) << R::table;
        std::set<QString> texts;
        std::size_t counted = 0;
        for (const auto& [name, value] : valuesOf(filled<R>())) {
            const QString text = value.toString();
            const bool isWord = std::ranges::none_of(text, [](QChar c) { return c.isDigit(); });
            if (!isWord && text != QStringLiteral("1")) // words and yes have no value of their own
                ++counted, texts.insert(text);
        }
        EXPECT_EQ(texts.size(), counted) << R::table << ": two columns hold the same field";
    });
}

TEST(IndexRows, EachFieldOfAnActHasAColumn)
{
    forEachRowType<IndexRows>([]<typename R>() {
        if constexpr (requires { R::act; }) {
            if constexpr (Described<decltype(R::act)>) {
                Unfilled visitor;
                const R row = filled<R>();
                decltype(R::act)::describe(visitor, row.act);
                if constexpr (std::same_as<R, AssignedRangeRow>)
                    EXPECT_EQ(visitor.names, (std::vector<std::string> { "reason", "typed_at", "waits" })); // the journal keeps them
                else if constexpr (std::same_as<R, CorrectionRow>)
                    EXPECT_EQ(visitor.names,
                        (std::vector<std::string> { "confirmed_by", "waits" })); // a later entry may say it too: CorrectionRow::Confirmed
                else if constexpr (std::same_as<R, LotEventRow>)
                    EXPECT_EQ(
                        visitor.names, (std::vector<std::string> { "released_elsewhere", "results_in_doubt" })); // the journal keeps them
                else
                    EXPECT_TRUE(visitor.names.empty()) << R::table << ": " << visitor.names.front();
            }
        }
    });
}

TEST(IndexRows, TheColumnsAreThoseOfTheTable)
{
    Place place;
    forEachRowType<IndexRows>([&]<typename R>() {
        EXPECT_THAT(columnsOfTable(*place.session, R::table), UnorderedElementsAreArray(columnsOf<R>())) << R::table;
    });
    EXPECT_THAT(columnsOfTable(*place.session, Entry::table), UnorderedElementsAreArray(columnsOf<Entry>()));
}

TEST(IndexRows, EveryTableOfTheSchemaHasARowType)
{
    Place place;
    std::vector<std::string> rows { "journal", "credential" };
    forEachRowType<IndexRows>([&]<typename R>() { rows.emplace_back(R::table); });
    if (place.session->isServer())
        rows.insert(rows.end(), { "journal_from_1", "journal_id", "schema_version", "server_secret" });
    std::vector<std::string> tables;
    ASSERT_TRUE(eachRow(*place.session,
        place.session->isServer() ? "SELECT tablename::text AS name FROM pg_tables WHERE schemaname = 'meterkeep'"
                                  : "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
        {}, [&](const Statement& row) {
            tables.push_back(row.text("name"));
            return base::Done();
        }));
    EXPECT_THAT(tables, UnorderedElementsAreArray(rows));
}

TEST(IndexRows, ARowThatItsFieldsCannotHoldIsDamaged)
{
    Place place;
    ASSERT_TRUE(insert(*place.session, filled<MeterStateRow>()));
    static const Sql spoil(Writes { MeterStateRow::table }, "UPDATE meter_state SET state = :state");
    ASSERT_TRUE(execute(*place.session, spoil, { { "state", bound(std::string("elsewhere")) } }));
    static const Select<MeterStateRow> sql("ORDER BY meter");
    const auto read = readRows(*place.session, sql, {}, zone());
    ASSERT_FALSE(read);
    EXPECT_EQ(read.error().kind, base::FaultKind::Damaged);
}

} // namespace mk::store
