// SPDX-License-Identifier: GPL-3.0-or-later
// A program whose clock jumps between its acts and within them: nothing is lost or out of order, and each jump is on record.
#include "fault_table.h"
#include "fault_ward.h"
#include "forked.h"

#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <gtest/gtest.h>

#include <random>

namespace mk::faults {

namespace {

using store::Session;

constexpr std::int64_t kHourMs = 3'600'000;

std::int64_t countOf(Session& session, const char* sql)
{
    std::int64_t count = -1;
    const base::Done read = store::eachRow(session, sql, {}, [&](const store::Statement& row) {
        count = row.number(0);
        return base::Done();
    });
    EXPECT_TRUE(read) << (read ? "" : read.error().text);
    return count;
}

} // namespace

TEST(JumpingClock, InAProgramOfItsOwnLosesNothingAndIsOnRecord)
{
    const FaultWard ward;
    const int acts = qEnvironmentVariableIsSet("MK_LONG_TESTS") ? 600 : 60;
    std::vector<std::string> said;
    int jumps = 0;
    for (const bool within : { false, true }) {
        Forked worker([&](const Forked::Say& say) {
            std::mt19937 random(within ? 5 : 6); // NOLINT
            std::int64_t off = 0;
            auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
            auto registrar = store::Registrar::open(**session, [&] {
                if (within && random() % 4 == 0) // each look at the clock may give another day
                    off += static_cast<std::int64_t>(random() % 200) * kHourMs - 100 * kHourMs;
                return store::machineClock() + off;
            });
            if (!registrar)
                return say("! " + registrar.error().text);
            for (int i = 0; i < acts; ++i) {
                if (!within && i % 3 == 2) {
                    off = i % 2 == 0 ? 48 * kHourMs : -72 * kHourMs;
                    say("~");
                }
                const std::string name = std::string(within ? "w" : "b") + "-" + std::to_string(i);
                const auto outcomes
                    = (*registrar)->record(setOf(name, "M-01", 60 * (i + (within ? acts : 0)), true), { base::OperatorId("hale"), "test" });
                say(outcomes ? name : "! " + outcomes.error().text);
            }
        });
        while (worker.listen(60'000)) { }
        for (const auto& line : worker.said()) {
            EXPECT_FALSE(line.starts_with('!')) << line;
            if (line == "~")
                ++jumps;
            else
                said.push_back(line);
        }
    }
    std::ranges::sort(said);
    EXPECT_EQ(said.size(), static_cast<std::size_t>(2 * acts));
    const StoredSets stored = storedSets(ward.registry());
    EXPECT_EQ(stored.whole, said);
    expectVerified(ward.registry());
    auto session = Session::open(ward.registry(), Session::Access::ReadOnly);
    ASSERT_TRUE(session);
    EXPECT_GE(countOf(**session, "SELECT count(*) FROM journal WHERE act = 'clock.noticed'"), jumps / 2) << "of " << jumps << " jumps";
    addFaultRow("clock jumps by days between acts and within them (SQLite)", 2 * acts,
        static_cast<std::int64_t>(said.size()) - static_cast<std::int64_t>(stored.whole.size()),
        static_cast<std::int64_t>(stored.broken.size()), "the next act: on record as a jump");
}

// Set back before the runs it should record, the program cannot know their time for the past: it says so.
TEST(JumpingClock, SetBackBeforeTheRunRefusesItInWordsAndGoesOnWhenItIsRight)
{
    const FaultWard ward;
    std::int64_t off = 0;
    auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    auto registrar = store::Registrar::open(**session, [&] { return store::machineClock() + off; });
    ASSERT_TRUE(registrar);
    const store::Author hale { base::OperatorId("hale"), "test" };
    ASSERT_TRUE((*registrar)->record(setOf("a", "M-01", 0, true), hale));
    const std::string before = ward.head();
    off = -20 * 365 * 24 * kHourMs;
    const auto refused = (*registrar)->record(setOf("b", "M-01", 60, true), hale);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, "time-in-the-future");
    EXPECT_EQ(ward.head(), before);
    off = 0;
    EXPECT_TRUE((*registrar)->record(setOf("b", "M-01", 60, true), hale));
    session.value();
    expectVerified(ward.registry());
}

} // namespace mk::faults
