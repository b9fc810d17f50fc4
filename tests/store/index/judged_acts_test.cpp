// SPDX-License-Identifier: GPL-3.0-or-later
// What the program judged is read from the index, and never from the journal again: each field of such an act has to come back.
#include "store/index/filler.h"
#include "store/index/index.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_fields.h"
#include "store/store_desk.h"

#include <gtest/gtest.h>

namespace mk::store {
namespace {

using namespace registry;
using sample::Filler;
using sample::StoreDesk;

/// The index keeps instants; they come back with the registry's offset.
struct WithOffsetOfZone {
    void operator()(const char*, base::Moment& at) { at = sample::zone().at(at.utcMs); }
    void operator()(const char*, std::optional<base::Moment>& at) { at = sample::zone().at(at->utcMs); }
    void operator()(const char*, auto&) { }
};

template <typename A>
A filledAct()
{
    A act {};
    Filler filler;
    pack(filler, act, &act);
    WithOffsetOfZone offset;
    pack(offset, act, &act);
    return act;
}

/// Enters the act into the index as the next entry of the journal would.
void enter(StoreDesk& desk, const Act& act)
{
    EXPECT_TRUE(applyToIndex(desk.session(), { desk.head().value + 1 }, desk.now().utcMs, false, act));
}

std::string bodyText(const Act& act)
{
    return bodyOf(act, false).canonical();
}

} // namespace

TEST(JudgedActs, AStopComesBackInEveryField)
{
    StoreDesk desk;
    const auto stopped = filledAct<acts::MeterStopped>();
    enter(desk, stopped);
    const auto read = desk.reader().stops(stopped.meter);
    ASSERT_TRUE(read);
    ASSERT_EQ(read->size(), 1U);
    EXPECT_EQ(bodyText(read->front().stop), bodyText(stopped));
}

TEST(JudgedActs, ALookbackComesBackInEveryField)
{
    StoreDesk desk;
    const auto opened = filledAct<acts::LookbackOpened>();
    enter(desk, opened);
    const auto read = desk.reader().lookbacks(opened.meter);
    ASSERT_TRUE(read);
    ASSERT_EQ(read->size(), 1U);
    EXPECT_EQ(bodyText(read->front().lookback), bodyText(opened));
}

TEST(JudgedActs, AVerdictWithItsRunsComesBackInEveryField)
{
    StoreDesk desk;
    desk.runSet("s", "2026-05-04T07:00", "60", "300");
    const SetRecord recorded = desk.set("s");
    auto judged = filledAct<acts::SetJudged>();
    judged.set = recorded.judged.set;
    judged.runs.clear();
    for (const auto& run : recorded.runs) { // their entries and levels are those of the runs
        auto each = filledAct<acts::JudgedRun>();
        each.run = run.seq;
        each.level = run.run.level;
        judged.runs.push_back(each);
    }
    enter(desk, judged);
    const SetRecord read = desk.set("s");
    ASSERT_EQ(read.runs.size(), 2U);
    EXPECT_EQ(bodyText(read.judged), bodyText(judged));
}

} // namespace mk::store
