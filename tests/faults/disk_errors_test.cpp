// SPDX-License-Identifier: GPL-3.0-or-later
// A disk that answers with errors, has no room left, may not be written, or is slow: what was acknowledged stays, what was not is told in
// words, and work goes on as soon as the disk does.
#include "fault_disk.h"
#include "fault_table.h"
#include "fault_ward.h"
#include "forked.h"

#include "store/read/board.h"
#include "store/journal/journal.h"
#include "store/copies/verification.h"

#include <gtest/gtest.h>

#include <sqlite3.h>

#include <set>

namespace mk::faults {

namespace {

using base::FaultKind;
using store::Session;

/// What a nurse reads: names the file, says what happened and what to do, and no code or library.
void expectPlain(const base::Fault& fault, const std::string& path, std::initializer_list<const char*> words)
{
    EXPECT_NE(fault.text.find(path), std::string::npos) << fault.text;
    for (const char* word : words)
        EXPECT_NE(fault.text.find(word), std::string::npos) << "does not say '" << word << "': " << fault.text;
    for (const char* chatter : { "SQL", "sqlite", "SQLITE", "I/O", "errno", "Unable to" })
        EXPECT_EQ(fault.text.find(chatter), std::string::npos) << fault.text;
    EXPECT_EQ(fault.text.find('\n'), std::string::npos) << fault.text;
}

struct ErrorTally {
    std::int64_t tries = 0, lost = 0, half = 0;
};

/// What a fault of the disk is called, and how it is to be told.
struct Trouble {
    Call call;
    int code;
    std::int64_t times; ///< in a row
    std::set<FaultKind> kinds;
};

void expectTold(const base::Fault& fault, const std::string& path, const Trouble& trouble)
{
    EXPECT_TRUE(trouble.kinds.contains(fault.kind)) << fault.text;
    switch (fault.kind) {
    case FaultKind::Full: expectPlain(fault, path, { "full", "nothing was stored", "Make room" }); break;
    case FaultKind::ReadOnly: expectPlain(fault, path, { "cannot be written", "nothing was stored", "rights" }); break;
    case FaultKind::Busy: expectPlain(fault, path, { "locked by another program", "try again" }); break;
    case FaultKind::Damaged: expectPlain(fault, path, { "damaged", "backup" }); break;
    default: expectPlain(fault, path, { "heck the disk", "nothing was stored" });
    }
}

/// Records three sets and a checkpoint on a copy of the registry, while the n-th call fails; mends the disk, sends again what was not
/// acknowledged, and looks. returns  false where no call failed any more: n was behind the end
bool workWithTrouble(
    const FaultDisk::Image& start, const std::string& folder, FaultDisk& disk, const Trouble& trouble, std::int64_t n, ErrorTally& tally)
{
    SCOPED_TRACE("call " + std::to_string(static_cast<int>(trouble.call)) + " number " + std::to_string(n));
    layOut(start, folder);
    const std::string path = folder + "/ward.mkr";
    std::vector<std::string> acknowledged;
    disk.fail(trouble.call, n, trouble.code, trouble.times);
    std::unique_ptr<Session> session;
    std::unique_ptr<store::Registrar> registrar;
    const auto ready = [&]() -> base::Done {
        if (!session) {
            auto opened = Session::open(path, Session::Access::ReadWrite);
            if (!opened)
                return opened.error();
            session = std::move(opened).value();
        }
        if (!registrar) {
            auto opened = store::Registrar::open(*session, store::machineClock);
            if (!opened)
                return opened.error();
            registrar = std::move(opened).value();
        }
        return {};
    };
    const auto record = [&](int i) -> base::Done {
        if (const auto is = ready(); !is)
            return is;
        const std::string name = "s-" + std::to_string(i);
        const auto outcomes = registrar->record(setOf(name, "M-01", 3600 * i, true), kHale);
        if (!outcomes)
            return outcomes.error();
        acknowledged.push_back(name);
        return {};
    };
    for (int i = 0; i < 3; ++i) {
        if (const auto done = record(i); !done) {
            EXPECT_TRUE(disk.struck()) << done.error().text;
            expectTold(done.error(), path, trouble);
            disk.mend();
            const auto again = record(i); // in the same window
            EXPECT_TRUE(again) << again.error().text;
        }
        if (i == 1 && session)
            static_cast<void>(session->execute("PRAGMA wal_checkpoint(TRUNCATE)")); // a failed one is made up for later
    }
    const bool struck = disk.struck();
    registrar.reset();
    session.reset(); // its checkpoint, too, may meet the fault
    disk.mend();
    const StoredSets stored = storedSets(path);
    for (const auto& name : acknowledged)
        tally.lost += std::ranges::binary_search(stored.whole, name) ? 0 : 1;
    EXPECT_EQ(stored.whole, acknowledged);
    EXPECT_TRUE(stored.broken.empty()) << stored.broken.front();
    EXPECT_TRUE(stored.twice.empty()) << stored.twice.front();
    tally.half += stored.broken.empty() && stored.twice.empty() ? 0 : 1;
    expectVerified(path);
    tally.tries += struck ? 1 : 0;
    return struck || disk.struck();
}

/// Every call of that kind in turn.
ErrorTally troubleAtEachCall(const Trouble& trouble)
{
    const FaultWard ward;
    const FaultDisk::Image start = filesOf(ward.folder());
    const QTemporaryDir folder;
    FaultDisk disk(folder.path().toStdString());
    ErrorTally tally;
    const int step = qEnvironmentVariableIsSet("MK_LONG_TESTS") ? 1 : 6;
    for (std::int64_t n = 1; workWithTrouble(start, folder.path().toStdString(), disk, trouble, n, tally);
         n += trouble.call == Call::Sync ? 1 : step)
        if (testing::Test::HasFailure() || n > 5000)
            break;
    EXPECT_GT(tally.tries, 2);
    EXPECT_EQ(tally.lost, 0);
    return tally;
}

} // namespace

TEST(DiskError, OnAnyOneWriteLosesNothingAndIsToldInWords)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Write, SQLITE_IOERR_WRITE, 1, { FaultKind::Io } });
    addFaultRow("the disk fails one write, each in turn (SQLite)", tally.tries, tally.lost, tally.half, "the act itself");
}

TEST(DiskError, OnAllWritesFromOneOnLosesNothingAndWorkGoesOnWhenItIsOver)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Write, SQLITE_IOERR_WRITE, 1'000'000, { FaultKind::Io } });
    addFaultRow("the disk fails every write from one on, each in turn (SQLite)", tally.tries, tally.lost, tally.half, "the act itself");
}

TEST(DiskError, OnAnySyncLosesNothingAndIsToldInWords)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Sync, SQLITE_IOERR_FSYNC, 1, { FaultKind::Io } });
    addFaultRow("the disk fails one sync, each in turn (SQLite)", tally.tries, tally.lost, tally.half, "the act itself");
}

TEST(DiskError, OnAnyReadIsToldInWordsAndChangesNothing)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Read, SQLITE_IOERR_READ, 1, { FaultKind::Io } });
    addFaultRow("the disk fails one read, at opening and later, each in turn (SQLite)", tally.tries, tally.lost, tally.half,
        "opening or the act itself");
}

TEST(FullDisk, AtAnyWriteKeepsWhatWasAcknowledgedAndGoesOnOnceThereIsRoom)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Write, SQLITE_FULL, 1'000'000, { FaultKind::Full } });
    addFaultRow("disk full from one write on, each in turn (SQLite)", tally.tries, tally.lost, tally.half, "the act itself");
}

TEST(ReadOnlyDisk, FromAnyWriteOnIsToldAndNothingIsStored)
{
    const ErrorTally tally = troubleAtEachCall({ Call::Write, SQLITE_READONLY, 1'000'000, { FaultKind::ReadOnly } });
    addFaultRow("disk becomes read-only from one write on, each in turn (SQLite)", tally.tries, tally.lost, tally.half, "the act itself");
}

TEST(DiskError, WhileOpeningNamesTheFileAndWhatToDo)
{
    const FaultWard ward;
    FaultDisk disk(ward.folder());
    for (const auto& [call, code] :
        { std::pair(Call::Open, SQLITE_CANTOPEN), std::pair(Call::Read, SQLITE_IOERR_READ), std::pair(Call::Share, SQLITE_IOERR_SHMMAP) }) {
        disk.fail(call, 1, code, 1'000'000);
        auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
        const auto registrar = session ? store::Registrar::open(**session, store::machineClock)
                                       : base::Result<std::unique_ptr<store::Registrar>>(session.error());
        ASSERT_FALSE(registrar);
        expectPlain(registrar.error(), ward.registry(), { "heck the" });
        disk.mend();
    }
    expectVerified(ward.registry());
}

// A registry on a slow disk: one records, another waits for its turn or is told why not, and who only reads does not wait at all.
TEST(SlowDisk, LetsOthersReadAndBothWritersThrough)
{
    const FaultWard ward;
    const int sets = qEnvironmentVariableIsSet("MK_LONG_TESTS") ? 20 : 2;
    const auto writer = [&](const std::string& prefix, const std::string& meter) {
        return [&ward, prefix, meter, sets](const Forked::Say& say) {
            FaultDisk disk(ward.folder());
            disk.delaySyncs(50, 300);
            auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
            auto registrar = session ? store::Registrar::open(**session, store::machineClock)
                                     : base::Result<std::unique_ptr<store::Registrar>>(session.error());
            if (!registrar)
                return say("! " + registrar.error().text);
            for (int i = 0; i < sets;) {
                const std::string name = prefix + "-" + std::to_string(i);
                const auto outcomes = (*registrar)->record(setOf(name, meter, 60 * i, true), kHale);
                if (outcomes)
                    say(name), ++i;
                else if (outcomes.error().kind == FaultKind::Busy
                    && outcomes.error().text.find("locked by another program") != std::string::npos)
                    say("? " + outcomes.error().text); // told in words, and sent again
                else
                    return say("! " + outcomes.error().text);
            }
        };
    };
    Forked one(writer("a", "M-01"));
    Forked other(writer("b", "M-02"));
    int boards = 0;
    while (one.listen(20) | other.listen(20)) {
        auto session = Session::open(ward.registry(), Session::Access::ReadOnly);
        ASSERT_TRUE(session) << session.error().text;
        auto reader = store::Reader::open(**session);
        ASSERT_TRUE(reader) << reader.error().text;
        const auto rows = store::board(*reader, std::nullopt, reader->zone().at(store::machineClock()));
        ASSERT_TRUE(rows) << rows.error().text;
        ++boards;
    }
    std::vector<std::string> said = one.said();
    said.insert(said.end(), other.said().begin(), other.said().end());
    std::int64_t waited = 0;
    for (const auto& line : said) {
        EXPECT_FALSE(line.starts_with('!')) << line;
        waited += line.starts_with('?') ? 1 : 0;
    }
    std::erase_if(said, [](const std::string& line) { return line.starts_with('?'); });
    std::ranges::sort(said);
    EXPECT_EQ(said.size(), static_cast<std::size_t>(2 * sets));
    EXPECT_GT(boards, 1);
    const StoredSets stored = storedSets(ward.registry());
    EXPECT_EQ(stored.whole, said);
    expectVerified(ward.registry());
    std::cout << "slow disk: " << 2 * sets << " sets by two writers, " << boards << " boards read meanwhile, " << waited
              << " times told to wait\n";
    addFaultRow("syncs that take 50 to 300 ms, two writers and a reader (SQLite)", 2 * sets,
        static_cast<std::int64_t>(said.size()) - static_cast<std::int64_t>(stored.whole.size()),
        static_cast<std::int64_t>(stored.broken.size()), "nothing to find");
}

} // namespace mk::faults
