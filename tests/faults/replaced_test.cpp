// SPDX-License-Identifier: GPL-3.0-or-later
// The registry's file is removed, replaced or overwritten while a program has it open: the next act says so and stores nothing, and what
// was acknowledged before is where it was.
#include "fault_table.h"
#include "fault_ward.h"

#include "store/journal/journal.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

namespace mk::faults {

namespace {

namespace fs = std::filesystem;
using store::Session;

/// A registry that a window has open, with some sets acknowledged.
struct OpenWard {
    FaultWard ward;
    std::unique_ptr<Session> session;
    std::unique_ptr<store::Registrar> registrar;
    std::vector<std::string> acknowledged;

    explicit OpenWard(store::Clock clock = store::machineClock)
    {
        session = std::move(Session::open(ward.registry(), Session::Access::ReadWrite)).value();
        registrar = std::move(store::Registrar::open(*session, std::move(clock))).value();
    }
    base::Done record(const std::string& name, int second)
    {
        const auto outcomes = registrar->record(setOf(name, "M-01", second, true), kHale);
        if (!outcomes)
            return outcomes.error();
        acknowledged.push_back(name);
        return {};
    }
    void close()
    {
        registrar.reset();
        session.reset();
    }
    std::string path() const { return ward.registry(); }
};

void expectRefused(const base::Done& done, const std::string& path, std::initializer_list<const char*> words)
{
    ASSERT_FALSE(done);
    EXPECT_NE(done.error().text.find(path), std::string::npos) << done.error().text;
    for (const char* word : words)
        EXPECT_NE(done.error().text.find(word), std::string::npos) << "does not say '" << word << "': " << done.error().text;
    EXPECT_EQ(done.error().text.find("SQL"), std::string::npos) << done.error().text;
}

/// A look at the newest entry, as a window takes before each board.
base::Done look(Session& session)
{
    const auto head = store::headOf(session);
    return head ? base::Done() : base::Done(head.error());
}

void overwrite(const std::string& path, const std::string& bytes)
{
    std::fstream file(path, std::ios::binary | std::ios::in | std::ios::out | std::ios::trunc);
    file << bytes;
}

void expectAll(const std::string& registry, std::vector<std::string> names)
{
    std::ranges::sort(names);
    const StoredSets stored = storedSets(registry);
    EXPECT_EQ(stored.whole, names);
    EXPECT_TRUE(stored.broken.empty());
    expectVerified(registry);
}

} // namespace

TEST(RemovedFile, IsNoticedAtTheNextActAndGoesOnWhereItIsPutBack)
{
    OpenWard open;
    ASSERT_TRUE(open.record("a", 0));
    const std::string aside = open.ward.folder() + "/aside.mkr";
    fs::rename(open.path(), aside);
    expectRefused(
        open.record("b", 60), open.path(), { "removed or renamed while it was open", "nothing was stored", "Put the file back", "backup" });
    expectRefused(look(*open.session), open.path(), { "removed or renamed" });
    fs::rename(aside, open.path());
    EXPECT_TRUE(open.record("b", 60));
    open.close();
    expectAll(open.path(), open.acknowledged);
    addFaultRow("file removed or renamed while open (SQLite)", 1, 0, 0, "the next act or look");
}

TEST(ReplacedFile, ByAnotherRegistryIsNoticedAndNeitherIsWritten)
{
    OpenWard open;
    ASSERT_TRUE(open.record("a", 0));
    const std::string foreign = FaultWard::anotherRegistry();
    const std::string other = open.ward.write("other.mkr", foreign);
    const std::string aside = open.ward.folder() + "/aside.mkr";
    fs::copy_file(open.path(), aside);
    fs::rename(other, open.path());
    expectRefused(
        open.record("b", 60), open.path(), { "replaced while it was open", "nothing was stored", "Close every program", "right one" });
    expectRefused(look(*open.session), open.path(), { "replaced" });
    EXPECT_TRUE(readBytes(open.path()) == foreign);
    open.close();
    EXPECT_TRUE(readBytes(open.path()) == foreign);
    expectAll(open.path(), {});
    addFaultRow("file replaced by another registry while open (SQLite)", 1, 0, 0, "the next act or look");
}

TEST(ReplacedFile, ByAnOlderCopyIsNoticedAndTheCopyIsNotWritten)
{
    OpenWard open;
    const std::string older = readBytes(open.path());
    ASSERT_TRUE(open.record("a", 0));
    const std::string copy = open.ward.write("copy.mkr", older);
    fs::rename(copy, open.path());
    expectRefused(open.record("b", 60), open.path(), { "replaced while it was open", "nothing was stored" });
    open.close();
    EXPECT_TRUE(readBytes(open.path()) == older);
    expectAll(open.path(), {});
    addFaultRow("file replaced by an older copy while open (SQLite)", 1, 0, 0, "the next act or look");
}

// As a plain copying over does it: the file stays the same one, its content does not.
TEST(OverwrittenFile, ByAnOlderCopyOrAnotherRegistryIsNoticedAtTheNextAct)
{
    for (const bool another : { false, true }) {
        SCOPED_TRACE(another);
        OpenWard open;
        const std::string older = another ? FaultWard::anotherRegistry() : readBytes(open.path());
        for (int i = 0; i < 20; ++i)
            ASSERT_TRUE(open.record("a" + std::to_string(i), 3600 * i));
        ASSERT_TRUE(open.session->execute("PRAGMA wal_checkpoint(TRUNCATE)"));
        ASSERT_TRUE(open.record("b", 90'000));
        overwrite(open.path(), older);
        const auto done = open.record("c", 91'000);
        ASSERT_FALSE(done);
        EXPECT_EQ(done.error().kind, base::FaultKind::Damaged) << done.error().text;
        expectRefused(done, open.path(), { "backup" });
    }
    addFaultRow("older copy or another registry copied over the file while open (SQLite)", 2, 0, 0, "the next act");
}

TEST(ReplacedFile, BetweenTheBeginningAndTheEndOfAnActIsNotAcknowledged)
{
    std::function<void()> within;
    OpenWard open([&within] {
        if (within)
            within();
        return store::machineClock();
    });
    const std::string older = readBytes(open.path());
    ASSERT_TRUE(open.record("a", 0));
    const std::string copy = open.ward.write("copy.mkr", older);
    within = [&] {
        if (fs::exists(copy))
            fs::rename(copy, open.path());
    };
    expectRefused(open.record("b", 60), open.path(), { "replaced while it was open" });
    EXPECT_TRUE(readBytes(open.path()) == older);
    addFaultRow("file replaced in the middle of an act (SQLite)", 1, 0, 0, "the act itself");
}

// A file that is opened and closed by any means drops the locks of the whole process on it; then another program takes itself for the last
// one that closes the registry, and deletes the log under the first.
TEST(SecondLook, OfTheSameProgramAtTheSameRegistryKeepsItsLocks)
{
    OpenWard open;
    ASSERT_TRUE(open.record("a", 0));
    ASSERT_TRUE(Session::open(open.path(), Session::Access::ReadOnly));
    ASSERT_EQ(runCli(open.ward.command({ QStringLiteral("board") })).status, 0);
    ASSERT_TRUE(fs::exists(open.path() + "-wal"));
    const auto done = open.record("b", 60);
    EXPECT_TRUE(done) << done.error().text;
    open.close();
    expectAll(open.path(), open.acknowledged);
}

TEST(RemovedLog, IsNoticedAtTheNextActAndClosingSavesWhatWasInIt)
{
    for (const char* beside : { "-wal", "-shm" }) {
        SCOPED_TRACE(beside);
        OpenWard open;
        ASSERT_TRUE(open.record("a", 0));
        ASSERT_TRUE(fs::remove(open.path() + beside));
        expectRefused(
            open.record("b", 60), open.path(), { "-wal", "removed or replaced while it was open", "nothing was stored", "run verify" });
        open.close();
        expectAll(open.path(), open.acknowledged);
    }
    addFaultRow("log or shared memory beside the file removed while open (SQLite)", 2, 0, 0, "the next act");
}

} // namespace mk::faults
