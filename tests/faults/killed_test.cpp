// SPDX-License-Identifier: GPL-3.0-or-later
// Programs killed at random moments: what was acknowledged is there, and nothing is half there.
#include "fault_table.h"
#include "fault_ward.h"
#include "forked.h"

#include "exchange/registry_csv.h"

#include "store/journal/journal.h"

#include <QDir>
#include <QElapsedTimer>

#include <gtest/gtest.h>

#include <unistd.h>

#include <algorithm>
#include <random>
#include <set>

namespace mk::faults {

namespace {

constexpr int kSetsOfImport = 4;

/// The child's work: mostly controls, now and then an import and a checkpoint.
void recordUntilKilled(const std::string& registry, const std::string& prefix, int first, const Forked::Say& say)
{
    auto session = store::Session::open(registry, store::Session::Access::ReadWrite);
    auto registrar = session ? store::Registrar::open(**session, store::machineClock)
                             : base::Result<std::unique_ptr<store::Registrar>>(session.error());
    if (!registrar)
        return say("! " + registrar.error().text);
    say("ready");
    for (int i = 0;; ++i) {
        const std::string name = prefix + "-" + std::to_string(i);
        if (i % 11 == 5) {
            std::vector<registry::FileRows> files { exchange::readRegistryFile(
                "control_runs.csv", runsFile(name + "i", kSetsOfImport), *registry::Zone::named("Europe/Berlin")) };
            if (const auto report = (*registrar)->importFiles(std::move(files), { base::OperatorId("rook"), "worker" }); !report)
                return say("! " + report.error().text);
            for (int k = 0; k < kSetsOfImport; ++k)
                say(name + "i-" + std::to_string(k));
        }
        if (i % 7 == 3)
            static_cast<void>((*session)->execute("PRAGMA wal_checkpoint(TRUNCATE)"));
        const auto outcomes = (*registrar)->record(setOf(name, "M-02", first + i, true), { base::OperatorId("hale"), "worker" });
        if (!outcomes)
            return say("! " + outcomes.error().text);
        say(name);
    }
}

/// Kills a process when the time is up. returns  true where it was still running
bool killAfter(QProcess& process, int ms)
{
    const bool ended = process.waitForFinished(ms);
    if (!ended) {
        process.kill();
        process.waitForFinished();
    }
    return !ended;
}

} // namespace

// A child of the test that records until it is killed: many kills at one registry, each at a moment of opening, recording, importing or
// checkpointing. What it said went out after record() returned.
TEST(KilledWhileRecording, KeepsEveryAcknowledgedSetAndNoHalfOne)
{
    const int tries = longTests() ? 3000 : 40;
    constexpr int kOfOneRegistry = 60;
    constexpr int kVerifyEach = 15;
    std::mt19937 random(20260311); // NOLINT: the same moments each time, as far as the machine allows
    std::unique_ptr<FaultWard> ward;
    std::set<std::string> acknowledged;
    std::int64_t sets = 0, lost = 0, half = 0, inOpening = 0;
    std::size_t stored = 0;
    for (int i = 0; i < tries; ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        if (i % kOfOneRegistry == 0) {
            ward = std::make_unique<FaultWard>();
            acknowledged.clear();
            stored = 0;
        }
        Forked worker([&](const Forked::Say& say) {
            recordUntilKilled(ward->registry(), "t" + std::to_string(i), i % kOfOneRegistry * 100'000, say);
        });
        if (random() % 4 != 0)
            while (worker.said().empty() && worker.listen(60'000)) { }
        ::usleep(std::uniform_int_distribution<useconds_t>(0, random() % 8 == 0 ? 150'000 : 40'000)(random));
        worker.killNow();
        inOpening += worker.said().empty() ? 1 : 0;
        std::size_t said = 0;
        for (const auto& line : worker.said()) {
            EXPECT_FALSE(line.starts_with('!')) << line;
            if (line != "ready") {
                acknowledged.insert(line);
                ++said;
            }
        }
        sets += static_cast<std::int64_t>(said);

        const StoredSets found = storedSets(ward->registry());
        EXPECT_TRUE(found.broken.empty()) << found.broken.front();
        EXPECT_TRUE(found.twice.empty()) << found.twice.front();
        half += found.broken.empty() && found.twice.empty() ? 0 : 1;
        for (const auto& name : acknowledged)
            lost += std::ranges::binary_search(found.whole, name) ? 0 : 1;
        EXPECT_EQ(lost, 0);
        // At most the one act that was stored, but not yet answered for, is more than what was acknowledged; the largest is an import.
        EXPECT_LE(found.whole.size(), stored + said + kSetsOfImport);
        stored = found.whole.size();
        if (i % kVerifyEach == kVerifyEach - 1)
            expectVerified(ward->registry());
        if (HasFailure())
            break;
    }
    expectVerified(ward->registry());
    EXPECT_GT(sets, 0);
    std::cout << "killed while recording: " << tries << " tries, " << inOpening << " of them in opening, " << sets << " sets acknowledged, "
              << lost << " lost\n";
    addFaultRow("kill -9 while opening, recording, importing and checkpointing (SQLite)", tries, lost, half,
        "nothing to find: opening mends the log");
}

TEST(KilledWhileImporting, LeavesAllOfTheFileOrNothing)
{
    const int tries = longTests() ? 40 : 5;
    constexpr int kSets = 300;
    std::mt19937 random(20261125); // NOLINT
    const FaultWard ward;
    int nothing = 0;
    int all = 0;
    int longestMs = 400; // follows what an import takes here
    for (int i = 0; i < tries; ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        const std::string folder = ward.folder() + "/" + std::to_string(i);
        ASSERT_TRUE(QDir().mkpath(QString::fromStdString(folder)));
        const FaultWard own(folder);
        const std::string before = own.head();
        const std::string file = own.write("control_runs.csv", runsFile("s", kSets));
        QProcess process;
        process.start(QStringLiteral(MK_CLI), own.command({ QStringLiteral("import"), QString::fromStdString(file) }));
        const bool killed = killAfter(process, std::uniform_int_distribution<int>(0, longestMs)(random));
        const StoredSets stored = storedSets(own.registry());
        EXPECT_TRUE(stored.broken.empty()) << stored.broken.front();
        EXPECT_TRUE(stored.whole.empty() || stored.whole.size() == static_cast<std::size_t>(kSets)) << stored.whole.size();
        EXPECT_EQ(stored.whole.empty(), own.head() == before);
        EXPECT_TRUE(killed || !stored.whole.empty());
        expectVerified(own.registry());
        ++(stored.whole.empty() ? nothing : all);
        // And the same call goes through afterwards.
        QElapsedTimer timer;
        timer.start();
        const Ran again = runCli(own.command({ QStringLiteral("import"), QString::fromStdString(file) }));
        if (stored.whole.empty())
            longestMs = static_cast<int>(timer.elapsed());
        EXPECT_EQ(again.status, 0) << again.err;
        EXPECT_EQ(storedSets(own.registry()).whole.size(), static_cast<std::size_t>(kSets));
    }
    std::cout << "killed while importing: " << tries << " tries, " << nothing << " with nothing, " << all << " with all of the file\n";
    addFaultRow("kill -9 of the program while it imports a file (SQLite)", tries, 0, HasFailure() ? 1 : 0,
        "nothing to find: all of the file or nothing");
}

} // namespace mk::faults
