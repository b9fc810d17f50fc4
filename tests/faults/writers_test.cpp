// SPDX-License-Identifier: GPL-3.0-or-later
// Several programs at one registry file: two that write, one that reads while another writes, one that delivers again.
#include "fault_ward.h"
#include "worker.h"

#include "store/read/board.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <set>
#include <thread>

namespace mk::faults {

namespace {

std::vector<std::string> namesOf(const std::string& prefix, int count)
{
    std::vector<std::string> names;
    for (int i = 0; i < count; ++i)
        names.push_back(prefix + "-" + std::to_string(i));
    std::ranges::sort(names);
    return names;
}

/// Lets both record at once and waits for their ends.
void runBoth(const Work& one, const Work& other)
{
    Worker first(one);
    Worker second(other);
    ASSERT_TRUE(first.waitUntilReady()) << first.complaint();
    ASSERT_TRUE(second.waitUntilReady()) << second.complaint();
    first.letGo();
    second.letGo();
    EXPECT_EQ(first.finish(), 0) << first.complaint();
    EXPECT_EQ(second.finish(), 0) << second.complaint();
    EXPECT_EQ(first.acknowledged().size(), static_cast<std::size_t>(one.count));
    EXPECT_EQ(second.acknowledged().size(), static_cast<std::size_t>(other.count));
}

/// Sets of the registry are exactly these, each whole and stored once.
void expectExactly(const std::string& registry, std::vector<std::string> names)
{
    const StoredSets stored = storedSets(registry);
    std::ranges::sort(names);
    EXPECT_EQ(stored.whole, names);
    EXPECT_TRUE(stored.broken.empty()) << stored.broken.front();
    EXPECT_TRUE(stored.twice.empty()) << stored.twice.front();
    expectVerified(registry);
}

} // namespace

TEST(TwoWriters, LoseNothingOnMetersOfTheirOwn)
{
    const FaultWard ward;
    constexpr int kSets = 200;
    runBoth({ ward.registry(), "M-01", "a", kSets, 0, 60 }, { ward.registry(), "M-02", "b", kSets, 0, 60 });
    auto names = namesOf("a", kSets);
    std::ranges::copy(namesOf("b", kSets), std::back_inserter(names));
    expectExactly(ward.registry(), names);
}

TEST(TwoWriters, LoseNothingOnOneMeterWhoseSetsComeInOutOfOrder)
{
    const FaultWard ward;
    constexpr int kSets = 20;
    runBoth({ ward.registry(), "M-01", "a", kSets, 0, 120 }, { ward.registry(), "M-01", "b", kSets, 60, 120 });
    auto names = namesOf("a", kSets);
    std::ranges::copy(namesOf("b", kSets), std::back_inserter(names));
    expectExactly(ward.registry(), names);
}

// One that writes all the time lets go of the lock for a moment only: whoever waits must see that moment.
TEST(TwoWriters, LetEachOtherInHoweverBusyTheOneIs)
{
    const FaultWard ward;
    std::atomic<bool> enough = false;
    std::atomic<int> held = 0;
    std::thread busy([&] {
        auto session = store::Session::open(ward.registry(), store::Session::Access::ReadWrite);
        ASSERT_TRUE(session);
        while (!enough) {
            store::Transaction transaction(**session);
            ASSERT_TRUE(transaction.begin());
            ++held;
            std::this_thread::sleep_for(std::chrono::milliseconds(20));
        }
    });
    auto session = store::Session::open(ward.registry(), store::Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    while (held == 0)
        std::this_thread::yield();
    for (int i = 0; i < 5; ++i) {
        store::Transaction transaction(**session);
        const auto begun = transaction.begin();
        EXPECT_TRUE(begun) << (begun ? std::string() : base::plainly(begun.error()));
    }
    enough = true;
    busy.join();
}

TEST(TwoWriters, StoreOnceWhatBothDeliver)
{
    const FaultWard ward;
    constexpr int kSets = 40;
    const Work same { ward.registry(), "M-01", "a", kSets, 0, 60 };
    runBoth(same, same);
    expectExactly(ward.registry(), namesOf("a", kSets));
}

TEST(RepeatedDelivery, IsRecognisedInAnotherProcess)
{
    const FaultWard ward;
    Worker worker({ ward.registry(), "M-01", "a", 3, 0, 60 });
    ASSERT_TRUE(worker.waitUntilReady()) << worker.complaint();
    worker.letGo();
    ASSERT_EQ(worker.finish(), 0) << worker.complaint();
    const std::string before = ward.head();

    auto session = store::Session::open(ward.registry(), store::Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    const auto outcomes = (*registrar)->record(setOf("a-1", "M-01", 60, true), { base::OperatorId("hale"), "test" });
    ASSERT_TRUE(outcomes) << outcomes.error().text;
    ASSERT_EQ(outcomes->size(), 2U);
    for (const auto& outcome : *outcomes) {
        EXPECT_TRUE(outcome.repeated);
        ASSERT_TRUE(outcome.set);
        EXPECT_EQ(outcome.set->judged.set, base::SetId("a-1"));
        EXPECT_TRUE(outcome.consequences.empty());
    }
    EXPECT_EQ(ward.head(), before);
}

// Without --at and --set, as a script sends it that lost its answer: the second call has another time, and means the first one's set.
TEST(RepeatedDelivery, OnTheCommandLineGivesTheSameAnswerAndWritesNothing)
{
    const FaultWard ward;
    const QStringList add = ward.command({ QStringLiteral("--json"), QStringLiteral("--operator"), QStringLiteral("hale"),
        QStringLiteral("run"), QStringLiteral("add"), QStringLiteral("--meter"), QStringLiteral("M-01"), QStringLiteral("--strip-vial"),
        QStringLiteral("S1-1"), QStringLiteral("--run"), QStringLiteral("low:CL-1=46"), QStringLiteral("--run"),
        QStringLiteral("high:CH-1=300"), QStringLiteral("--entry-id"), QStringLiteral("b7a1b3c4-6f7e-4a0b-9d2c-2f5d1f0e8a11") });
    const auto verdictOf = [](const Ran& ran) { return ran.out.substr(0, ran.out.find(",\"rules\"")); }; // set, seq and verdict
    const Ran first = runCli(add);
    EXPECT_NE(first.out.find("\"verdict\":\""), std::string::npos) << first.out << first.err;
    const std::string before = ward.head();
    const Ran again = runCli(add);
    EXPECT_EQ(again.status, first.status) << again.err;
    EXPECT_EQ(verdictOf(again), verdictOf(first));
    EXPECT_EQ(ward.head(), before);
}

// An answer "on record already" for what is not on record would lose it.
TEST(RepeatedDelivery, WithAKnownIdButAnotherActIsRefused)
{
    const FaultWard ward;
    const QString id = QStringLiteral("1c9e7a52-0f1b-4c59-8a0e-6f4d5b7f2a10");
    const auto act = [&](const QStringList& rest) {
        return runCli(ward.command(QStringList { QStringLiteral("--operator"), QStringLiteral("hale"), QStringLiteral("act") } + rest
            + QStringList { QStringLiteral("--meter"), QStringLiteral("M-01"), QStringLiteral("--entry-id"), id }));
    };
    const QStringList note { QStringLiteral("note"), QStringLiteral("--text"), QStringLiteral("display is scratched") };
    ASSERT_EQ(act(note).status, 0);
    const std::string before = ward.head();
    EXPECT_EQ(act(note).status, 0);
    for (const QStringList& other : { QStringList { QStringLiteral("note"), QStringLiteral("--text"), QStringLiteral("display is broken") },
             QStringList { QStringLiteral("incident"), QStringLiteral("--kind"), QStringLiteral("dropped") } }) {
        const Ran ran = act(other);
        EXPECT_EQ(ran.status, 2) << ran.out;
        expectOneLine(ran.err);
        EXPECT_NE(ran.err.find(id.toStdString()), std::string::npos) << ran.err;
    }
    EXPECT_EQ(ward.head(), before);
}

TEST(Reader, SeesEveryAcknowledgedSetWhileAnotherWrites)
{
    const FaultWard ward;
    constexpr int kSets = 120;
    Worker worker({ ward.registry(), "M-01", "a", kSets, 0, 60 });
    ASSERT_TRUE(worker.waitUntilReady()) << worker.complaint();
    worker.letGo();
    bool running = true;
    int boards = 0;
    while (running) {
        running = worker.listen(1000);
        const std::string newest = worker.acknowledged().empty() ? std::string() : worker.acknowledged().back();
        auto session = store::Session::open(ward.registry(), store::Session::Access::ReadOnly);
        ASSERT_TRUE(session) << session.error().text;
        auto reader = store::Reader::open(**session);
        ASSERT_TRUE(reader) << reader.error().text;
        const auto rows = store::board(*reader, std::nullopt, reader->zone().at(store::machineClock()));
        ASSERT_TRUE(rows) << rows.error().text;
        ASSERT_EQ(rows->size(), 2U);
        ++boards;
        const auto& history = rows->front().history;
        if (newest.empty())
            continue;
        ASSERT_TRUE(history.newestSet);
        EXPECT_EQ(history.newestSet->runs.size(), 2U);
        const auto verdict = history.newestSet->judged.verdict;
        EXPECT_TRUE(verdict == registry::Verdict::Accepted || verdict == registry::Verdict::Warned) << registry::word(verdict);
        EXPECT_GE(std::stoi(history.newestSet->judged.set.value.substr(2)), std::stoi(newest.substr(2)));
    }
    EXPECT_EQ(worker.finish(), 0) << worker.complaint();
    EXPECT_EQ(worker.acknowledged().size(), static_cast<std::size_t>(kSets));
    std::cout << "boards read while " << kSets << " sets were recorded: " << boards << "\n";
    expectExactly(ward.registry(), namesOf("a", kSets));
}

} // namespace mk::faults
