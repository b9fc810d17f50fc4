// SPDX-License-Identifier: GPL-3.0-or-later
// Programs killed at random moments: what was acknowledged is there, and nothing is half there.
#include "fault_ward.h"
#include "worker.h"

#include "store/journal.h"

#include <QDeadlineTimer>
#include <QDir>
#include <QElapsedTimer>

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <set>

namespace mk::faults {

namespace {

    bool longTests()
    {
        return qEnvironmentVariableIsSet("MK_LONG_TESTS");
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

TEST(KilledWhileRecording, KeepsEveryAcknowledgedSetAndNoHalfOne)
{
    const FaultWard ward;
    const int tries = longTests() ? 200 : 15;
    std::mt19937 random(20260311); // NOLINT: the same moments each time, as far as the machine allows
    std::set<std::string> acknowledged;
    std::size_t unanswered = 0;
    std::size_t lost = 0;
    for (int i = 0; i < tries; ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        Worker worker({ ward.registry(), "M-01", "t" + std::to_string(i), 0, i * 100'000, 1 });
        ASSERT_TRUE(worker.waitUntilReady()) << worker.complaint();
        worker.letGo();
        QDeadlineTimer moment(std::uniform_int_distribution<int>(0, 120)(random));
        while (!moment.hasExpired())
            ASSERT_TRUE(worker.listen(std::max(1, static_cast<int>(moment.remainingTime())))) << worker.complaint();
        worker.killNow();
        acknowledged.insert(worker.acknowledged().begin(), worker.acknowledged().end());

        const StoredSets stored = storedSets(ward.registry());
        EXPECT_TRUE(stored.broken.empty()) << stored.broken.front();
        EXPECT_TRUE(stored.twice.empty()) << stored.twice.front();
        for (const auto& name : acknowledged)
            lost += std::ranges::binary_search(stored.whole, name) ? 0U : 1U;
        // At most the one set that was stored, but not yet answered for, is more than what was acknowledged.
        EXPECT_LE(stored.whole.size(), acknowledged.size() + unanswered + 1);
        unanswered = stored.whole.size() - std::min(stored.whole.size(), acknowledged.size());
        EXPECT_EQ(lost, 0U);
        if (i % 20 == 19)
            expectVerified(ward.registry());
    }
    expectVerified(ward.registry());
    EXPECT_GT(acknowledged.size(), 0U);
    std::cout << "killed while recording: " << tries << " tries, " << acknowledged.size() << " sets acknowledged, " << lost << " lost, "
              << unanswered << " stored whole but not yet answered for\n";
}

TEST(KilledWhileImporting, LeavesAllOfTheFileOrNothing)
{
    const int tries = longTests() ? 40 : 5;
    constexpr int kSets = 300;
    std::mt19937 random(20261125); // NOLINT
    const FaultWard ward;
    int nothing = 0;
    int all = 0;
    int longestMs = 400; // grows to what an import takes here
    for (int i = 0; i < tries; ++i) {
        SCOPED_TRACE("try " + std::to_string(i));
        const std::string folder = ward.folder() + "/" + std::to_string(i);
        ASSERT_TRUE(QDir().mkpath(QString::fromStdString(folder)));
        const FaultWard own(folder);
        const std::string before = own.head();
        const std::string file = own.write("control_runs.csv", runsFile("s", kSets));
        QProcess process;
        QElapsedTimer timer;
        timer.start();
        process.start(QStringLiteral(MK_CLI), own.command({ QStringLiteral("import"), QString::fromStdString(file) }));
        const bool killed = killAfter(process, std::uniform_int_distribution<int>(0, longestMs)(random));
        if (!killed)
            longestMs = static_cast<int>(timer.elapsed());
        const StoredSets stored = storedSets(own.registry());
        EXPECT_TRUE(stored.broken.empty()) << stored.broken.front();
        EXPECT_TRUE(stored.whole.empty() || stored.whole.size() == static_cast<std::size_t>(kSets)) << stored.whole.size();
        EXPECT_EQ(stored.whole.empty(), own.head() == before);
        EXPECT_TRUE(killed || !stored.whole.empty());
        expectVerified(own.registry());
        ++(stored.whole.empty() ? nothing : all);
        // And the same call goes through afterwards.
        const Ran again = runCli(own.command({ QStringLiteral("import"), QString::fromStdString(file) }));
        EXPECT_EQ(again.status, 0) << again.err;
        EXPECT_EQ(storedSets(own.registry()).whole.size(), static_cast<std::size_t>(kSets));
    }
    std::cout << "killed while importing: " << tries << " tries, " << nothing << " with nothing, " << all << " with all of the file\n";
}

} // namespace mk::faults
