// SPDX-License-Identifier: GPL-3.0-or-later
// What a session must not believe: a transaction that something went wrong in, a line that leads elsewhere, a server with settings of its
// own.
#include "server/server_ward.h"
#include "store/db/rows.h"

#include <gtest/gtest.h>

namespace mk::server {

using namespace registry;

TEST(ServerDoubt, WhatWentWrongInATransactionIsToldByItsCommitAtTheLatest)
{
    ServerWard ward;
    Window window = ward.open("coordinator");
    store::Session& session = *window.session;
    ASSERT_TRUE(session.begin());
    // A ward without an id waits to be sent, and the first question about wards finds out.
    static const store::Sql withoutId(store::Writes { "ward" }, "INSERT INTO ward (ward, name, from_seq) VALUES (:ward, :name, :from_seq)");
    static const store::Sql wards({ "ward" }, "SELECT ward FROM ward");
    ASSERT_TRUE(store::execute(session, withoutId, { { "ward", QVariant() }, { "name", QVariant() }, { "from_seq", 3 } }));
    EXPECT_FALSE(store::eachRow(session, wards, {}, [](const store::Statement&) { return base::Done(); }));
    EXPECT_FALSE(session.commit()) << "the server would roll back and say that it was done";
    session.rollBack();
    EXPECT_TRUE(window.record(ServerWard::run("after", "M1", Level::Low, "60"))) << "and the session goes on";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(ServerDoubt, AnotherRegistryInItsPlaceIsNotRecordedIn)
{
    ServerWard ward;
    Window window = ward.open("coordinator");
    ASSERT_TRUE(window.record(ServerWard::run("one", "M1", Level::Low, "60")));
    ward.server().sql(ward.database(), QStringLiteral("DROP SCHEMA meterkeep CASCADE"));
    {
        auto made = store::Session::create(ward.address("keeper"));
        ASSERT_TRUE(made) << made.error().text;
        ASSERT_TRUE(store::found(**made, "Europe/Berlin", {}, { {}, "test" }, store::machineClock));
    }
    ward.server().sql(QStringLiteral("postgres"),
        QStringLiteral("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'coordinator' AND datname = '%1'")
            .arg(ward.database()));
    const auto done = window.record(ServerWard::run("two", "M1", Level::Low, "60"));
    ASSERT_FALSE(done);
    EXPECT_EQ(done.error().kind, base::FaultKind::Conflict) << done.error().text;
    EXPECT_NE(done.error().text.find("no longer the registry that was opened here"), std::string::npos) << done.error().text;
    EXPECT_EQ(ward.server().sql(ward.database(), QStringLiteral("SELECT count(*) FROM meterkeep.journal")).toStdString(), "2");
}

TEST(ServerDoubt, TheServersOwnSettingsChangeNothingThatIsStored)
{
    ServerWard ward;
    for (const char* setting : { "standard_conforming_strings = off", "default_transaction_isolation = 'repeatable read'",
             "datestyle = 'SQL, DMY'", "bytea_output = 'escape'" })
        ward.server().sql(
            QStringLiteral("postgres"), QStringLiteral("ALTER DATABASE %1 SET %2").arg(ward.database(), QLatin1String(setting)));
    Window window = ward.open("nurse");
    acts::NoteAdded note { now(), base::OperatorId("N1"), base::MeterId("M1"),
        R"(a "quoted" note with C:\\path, an 'apostrophe' and a $1 ? mark)" };
    const auto done = window.record(note);
    ASSERT_TRUE(done) << done.error().text;
    EXPECT_EQ(ward.server().sql(ward.database(), QStringLiteral("SELECT text FROM meterkeep.note")).toStdString(), note.text);
    EXPECT_TRUE(ward.verification().holds());
}

} // namespace mk::server
