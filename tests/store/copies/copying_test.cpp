// SPDX-License-Identifier: GPL-3.0-or-later
// A registry carried entry by entry to another place, on a file and on a server, and closed where it was.
#include "store/store_desk.h"

#include "store/copies/backup.h"
#include "store/copies/copying.h"
#include "store/copies/moving.h"
#include "store/db/rows.h"
#include "store/copies/verification.h"

#include <gtest/gtest.h>

#include <QCryptographicHash>

#include <QFile>
#include <QTemporaryDir>

#include <fstream>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;
using support::PrivateServer;

class Carried : public ::testing::Test {
protected:
    Carried() { m_desk.runSet("one", "2026-05-04T07:00", "61", "305"); }

    std::string path(const char* name) const { return m_folder.filePath(QLatin1String(name)).toStdString(); }
    Head headOfDesk() { return headOf(m_desk.session()).value(); }
    /// The desk's entries, one of them changed on the way.
    EntrySource changed(std::size_t which, const std::function<void(Entry&)>& change)
    {
        return { "the parcel", false, [entries = m_desk.entries(), which, change](const TakeEntry& take) -> base::Done {
                    for (std::size_t i = 0; i < entries.size(); ++i) {
                        Entry entry = entries[i];
                        if (i == which)
                            change(entry);
                        if (const base::Done taken = take(entry); !taken)
                            return taken;
                    }
                    return {};
                } };
    }
    std::string write(const char* name, const std::string& bytes) const
    {
        std::ofstream(path(name), std::ios::binary) << bytes;
        return path(name);
    }
    /// What a reading of lines says of a file with these bytes.
    std::string refusalOfLines(const std::string& bytes)
    {
        auto target = Session::create(path(("lines-" + std::to_string(++m_files) + ".mkr").c_str()));
        const auto lines = linesOf(write("journal.ndjson", bytes));
        if (!target || !lines)
            return "no lines";
        const auto copied = copyInto(**target, *lines);
        EXPECT_EQ(headOf(**target).value().seq.value, 0) << "nothing of it stays";
        return copied ? "" : copied.error().text.substr(path("x").size() - 1);
    }

    StoreDesk m_desk;
    QTemporaryDir m_folder;
    int m_files = 0;
};

} // namespace

TEST_F(Carried, EveryEntryArrivesAndTheIndexIsMadeAnew)
{
    auto target = Session::create(path("copy.mkr"));
    ASSERT_TRUE(target);
    ASSERT_TRUE(m_desk.session().beginRead());
    const auto copied = copyInto(**target, entriesOf(m_desk.session()));
    m_desk.session().rollBack();
    ASSERT_TRUE(copied) << copied.error().text;
    EXPECT_EQ(copied->head.digest, headOfDesk().digest);
    EXPECT_EQ(headOf(**target).value().digest, headOfDesk().digest);
    const auto found = verify(**target, headOfDesk().digest);
    ASSERT_TRUE(found);
    EXPECT_TRUE(found->holds());
    EXPECT_EQ(found->entries, headOfDesk().seq.value);
    auto reader = Reader::open(**target);
    ASSERT_TRUE(reader);
    const auto set = reader->set(base::SetId("one"));
    ASSERT_TRUE(set && *set);
    EXPECT_EQ((*set)->runs.size(), 2U);
    const auto again = copyInto(**target, entriesOf(m_desk.session()));
    ASSERT_FALSE(again);
    EXPECT_EQ(again.error().kind, base::FaultKind::Conflict);
}

TEST_F(Carried, AChangedEntryIsNamedAndNothingArrives)
{
    for (const auto& change : std::initializer_list<std::function<void(Entry&)>> { [](Entry& e) { e.body += " "; },
             [](Entry& e) { e.at += 1; }, [](Entry& e) { e.digest[0] = e.digest[0] == '0' ? '1' : '0'; },
             [](Entry& e) { e.seq.value += 1; }, [](Entry& e) { e.prev = noDigest(); } }) {
        auto target = Session::create(path(("broken-" + std::to_string(++m_files) + ".mkr").c_str()));
        ASSERT_TRUE(target);
        const auto copied = copyInto(**target, changed(4, change));
        ASSERT_FALSE(copied);
        EXPECT_EQ(copied.error().kind, base::FaultKind::Damaged);
        EXPECT_NE(copied.error().text.find("the parcel, entry 5"), std::string::npos) << copied.error().text;
        EXPECT_EQ(headOf(**target).value().seq.value, 0);
    }
}

TEST_F(Carried, ALineThatIsNoEntryIsNamed)
{
    EXPECT_EQ(refusalOfLines("{\"a\":1}\n").substr(0, 23), "journal.ndjson, line 1:");
    EXPECT_EQ(refusalOfLines("\n").substr(0, 22), "journal.ndjson, line 1");
    EXPECT_NE(refusalOfLines("{\"act\":\"x\"").find("line 1 ends in the middle"), std::string::npos);
    EXPECT_NE(refusalOfLines(std::string(3 << 20, 'x')).find("longer than any entry"), std::string::npos);
    EXPECT_NE(refusalOfLines("").find("holds no entry"), std::string::npos);
    EXPECT_NE(refusalOfLines("{\"act\":\"note.added\",\"at\":1,\"body\":{},\"digest\":\"x\",\"id\":\"i\",\"operator\":\"o\",\"prev\":\""
                  + noDigest() + "\",\"seq\":1,\"station\":\"s\",\"subject\":\"s\",\"zone\":\"+00:00\"}\n")
                  .find("line 1: its content is not what was digested"),
        std::string::npos);
    EXPECT_FALSE(linesOf(path("none"))) << "nothing there";
}

TEST_F(Carried, PasswordsGoAlongBetweenFilesAndWithTheKeeperToAServer)
{
    auto source = Session::create(path("source.mkr"));
    ASSERT_TRUE(source && found(**source, "Europe/Berlin", {}, { {}, "desk" }, machineClock));
    auto registrar = Registrar::open(**source, machineClock);
    ASSERT_TRUE(registrar);
    ASSERT_TRUE((*registrar)
                    ->recordOwn(acts::SecretSet { m_desk.now(), base::OperatorId("C1"), base::OperatorId("N1"),
                                    QCryptographicHash::hash("check", QCryptographicHash::Sha256).toHex().toStdString() },
                        { {}, "desk" }));
    ASSERT_TRUE((*source)->execute(
        "INSERT INTO credential (operator, check_text) VALUES (?, ?)", { bound(std::string("N1")), bound(std::string("check")) }));

    const auto file = moveRegistry(**source, { path("file.mkr"), true, { {}, "desk" } });
    ASSERT_TRUE(file) << file.error().text;
    EXPECT_EQ(file->secretsLeft, 0);
    auto there = Session::open(path("file.mkr"), Session::Access::ReadOnly);
    ASSERT_TRUE(there);
    std::string row;
    ASSERT_TRUE(eachRow(**there, "SELECT operator || check_text FROM credential", {}, [&](const Statement& each) {
        row += each.text(0);
        return base::Done();
    }));
    EXPECT_EQ(row, "N1check");

    PrivateServer& server = PrivateServer::shared();
    const QString database = server.newDatabase();
    const auto moved = moveRegistry(**source, { server.address(database, QStringLiteral("keeper")), true, { {}, "desk" } });
    ASSERT_TRUE(moved) << moved.error().text;
    EXPECT_EQ(moved->secretsLeft, 0);
    EXPECT_EQ(server.sql(database, QStringLiteral("SELECT operator || check_text FROM meterkeep.credential")).toStdString(), "N1check");
}

TEST_F(Carried, ToAServerAndBackTheHeadIsTheSameAndEachPlaceIsClosed)
{
    PrivateServer& server = PrivateServer::shared();
    const QString database = server.newDatabase();
    const std::string address = server.address(database, QStringLiteral("keeper"));
    const Head before = headOfDesk();
    const auto away = moveRegistry(m_desk.session(), { address, false, { base::OperatorId("C1"), "desk" } });
    ASSERT_TRUE(away) << away.error().text;
    EXPECT_EQ(away->head.digest, before.digest);
    EXPECT_EQ(headOfDesk().seq.value, before.seq.value + 1);
    EXPECT_EQ(m_desk.entries().back().act, "registry.moved");
    EXPECT_EQ(m_desk.entries().back().body.find("keeper@"), std::string::npos) << "a place in words, without the login";
    {
        auto there = Session::open(address, Session::Access::ReadWrite);
        ASSERT_TRUE(there) << there.error().text;
        EXPECT_EQ(headOf(**there).value().digest, before.digest);
        // Whoever may make a registry may not record in it.
        auto registrar = Registrar::open(**there, machineClock);
        ASSERT_TRUE(registrar);
        const auto refused = (*registrar)->recordOwn(acts::BackupMade { m_desk.now(), "x", { 1 }, noDigest() }, { {}, "desk" });
        ASSERT_FALSE(refused);
        EXPECT_EQ(refused.error().kind, base::FaultKind::Denied);
        const auto taken = moveRegistry(m_desk.session(), { address, true, { {}, "desk" } });
        ASSERT_FALSE(taken);
        EXPECT_EQ(taken.error().kind, base::FaultKind::Conflict);
        const auto back = moveRegistry(**there, { path("back.mkr"), false, { {}, "desk" } });
        ASSERT_TRUE(back) << back.error().text;
        EXPECT_EQ(back->head.digest, before.digest);
    }
    auto back = Session::open(path("back.mkr"), Session::Access::ReadWrite);
    ASSERT_TRUE(back);
    EXPECT_EQ(headOf(**back).value().digest, before.digest);
    auto nurse = Session::open(server.address(database, QStringLiteral("nurse")), Session::Access::ReadWrite);
    ASSERT_TRUE(nurse);
    auto registrar = Registrar::open(**nurse, machineClock);
    ASSERT_TRUE(registrar);
    const auto refused = (*registrar)->recordOwn(acts::BackupMade { m_desk.now(), "x", { 1 }, noDigest() }, { {}, "desk" });
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().kind, base::FaultKind::Refused);
    EXPECT_NE(refused.error().text.find("back.mkr"), std::string::npos) << refused.error().text;
}

TEST_F(Carried, AMovedRegistryAdmitsNothingMoreFromAnyHand)
{
    // Another program has it open from before.
    auto other = Session::open(m_desk.path(), Session::Access::ReadWrite);
    ASSERT_TRUE(other);
    auto hand = Registrar::open(**other, machineClock);
    ASSERT_TRUE(hand);
    const auto moved = moveRegistry(m_desk.session(), { path("new.mkr"), false, { base::OperatorId("C1"), "desk" } });
    ASSERT_TRUE(moved) << moved.error().text;
    const Head closed = headOfDesk();
    const NewAct note { Act(acts::NoteAdded { m_desk.now(), base::OperatorId("N1"), base::MeterId("M1"), "after" }), {} };
    for (Registrar* registrar : { &m_desk.registrar(), hand->get() }) {
        const auto recorded = registrar->record({ &note, 1 }, { base::OperatorId("N1"), "desk" });
        ASSERT_FALSE(recorded);
        EXPECT_EQ(recorded.error().kind, base::FaultKind::Refused);
        EXPECT_NE(recorded.error().text.find("new.mkr"), std::string::npos) << recorded.error().text;
        EXPECT_NE(recorded.error().text.find("--registry"), std::string::npos);
        EXPECT_FALSE(registrar->recordOwn(acts::BackupMade { m_desk.now(), "x", { 1 }, noDigest() }, { {}, "desk" }));
        FileRows wards { "wards.csv", { { 2, Act(acts::WardAdded { base::WardId("W9"), "Nine" }), {} } }, {}, {} };
        EXPECT_FALSE(registrar->importFiles({ wards }, { {}, "desk" }));
    }
    EXPECT_FALSE(moveRegistry(m_desk.session(), { path("third.mkr"), false, { {}, "desk" } }));
    EXPECT_FALSE(QFile::exists(QString::fromStdString(path("third.mkr"))));
    EXPECT_EQ(headOfDesk().digest, closed.digest);
    // Where it went, it goes on.
    auto there = Session::open(path("new.mkr"), Session::Access::ReadWrite);
    ASSERT_TRUE(there);
    auto goesOn = Registrar::open(**there, machineClock);
    ASSERT_TRUE(goesOn);
    EXPECT_TRUE((*goesOn)->record({ &note, 1 }, { base::OperatorId("N1"), "desk" }));
}

TEST_F(Carried, AMoveThatEndedBeforeItClosedTheRegistryIsFinishedByTheNext)
{
    ASSERT_TRUE(moveRegistry(m_desk.session(), { path("new.mkr"), true, { {}, "desk" } }));
    const auto moved = moveRegistry(m_desk.session(), { path("new.mkr"), false, { {}, "desk" } });
    ASSERT_TRUE(moved) << moved.error().text;
    EXPECT_TRUE(moved->wasThere);
    EXPECT_TRUE(moved->closed);

    StoreDesk second;
    ASSERT_TRUE(moveRegistry(second.session(), { path("second.mkr"), true, { {}, "desk" } }));
    second.runSet("two", "2026-05-04T07:00", "61", "305");
    const auto older = moveRegistry(second.session(), { path("second.mkr"), false, { {}, "desk" } });
    ASSERT_FALSE(older);
    EXPECT_NE(older.error().text.find("older copy"), std::string::npos) << older.error().text;
    second.runSet("three", "2026-05-05T07:00", "61", "305"); // it goes on here
}

TEST_F(Carried, ACopyIsOverdueAfterThePolicysDaysAndTheNewestCounts)
{
    const auto standing = [&](const char* at) {
        auto reader = m_desk.reader();
        return copyStanding(reader, m_desk.at(at)).value();
    };
    EXPECT_FALSE(standing("2026-05-02T05:30").overdue) << "founded a day ago";
    EXPECT_TRUE(standing("2026-05-02T06:30").overdue) << "no copy at all";
    EXPECT_FALSE(standing("2026-05-02T06:30").newest);
    for (const char* at : { "2026-05-05T02:00", "2026-05-06T02:00" }) {
        m_desk.goTo(at);
        ASSERT_TRUE(m_desk.registrar().recordOwn(acts::BackupMade { m_desk.now(), at, { 3 }, noDigest() }, { {}, "desk" }));
    }
    EXPECT_EQ(standing("2026-05-06T08:00").newest->act.copy, "2026-05-06T02:00");
    EXPECT_FALSE(standing("2026-05-07T02:59").overdue) << "a nightly copy is never ready at the same minute";
    EXPECT_TRUE(standing("2026-05-07T03:01").overdue);
    EXPECT_EQ(standing("2026-05-07T03:01").days, 1);
}

} // namespace mk::store
