// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/rows.h"

#include <gtest/gtest.h>

namespace mk::store {

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

} // namespace mk::store
