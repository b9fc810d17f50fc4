// SPDX-License-Identifier: GPL-3.0-or-later
// Where the store reads less than all, it finds what reading all finds.
#include "store/store_desk.h"

#include "registry/comparison/comparison.h"
#include "store/journal/journal.h"

#include <gtest/gtest.h>

#include <random>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

void recordNote(StoreDesk& desk)
{
    desk.record(acts::NoteAdded { desk.now(), base::OperatorId("N1"), base::MeterId("M1"), "seen" });
}

} // namespace

TEST(ShortWays, TheLastEntryByAMomentIsFoundWhereClocksRanBackwards)
{
    StoreDesk desk;
    // Forward; a minute back, which nobody notices; hours and days back, which are on record; a leap ahead and back again.
    for (const char* when : { "2026-05-02T07:00", "2026-05-02T09:00", "2026-05-02T08:59", "2026-05-02T08:58", "2026-05-02T12:00",
             "2026-05-02T06:30", "2026-05-02T06:40", "2026-05-03T06:00", "2026-05-09T06:00", "2026-05-02T10:00", "2026-05-02T10:05",
             "2026-05-04T06:00", "2026-05-01T06:00", "2026-05-04T07:00", "2026-05-04T06:59", "2026-05-20T06:00" }) {
        desk.goTo(when);
        recordNote(desk);
    }
    const auto entries = desk.entries();
    ASSERT_GT(desk.entriesOf("clock.noticed").size(), 2U);
    for (const auto& each : entries)
        for (const std::int64_t moment : { each.at - 1, each.at, each.at + 1, each.at + 3'600'000, each.at - 3'600'001 }) {
            std::int64_t last = 0;
            for (const auto& entry : entries)
                if (entry.at <= moment)
                    last = entry.seq.value;
            const auto found = lastEntryBefore(desk.session(), moment);
            ASSERT_TRUE(found) << found.error().text;
            ASSERT_EQ(found->value, last) << moment;
        }
}

TEST(ShortWays, TheComparisonsThatCountAreThoseOfAll)
{
    std::mt19937 random(7);
    for (int history = 0; history < 12; ++history) {
        StoreDesk desk;
        desk.goTo("2027-01-01T12:00");
        std::vector<Act> pairs;
        for (int i = 0; i < 14; ++i) {
            acts::ComparisonRecorded pair;
            pair.pair = base::PairId("P" + std::to_string(i));
            pair.meter = base::MeterId("M1");
            pair.meterAt = base::plusMs(
                desk.at("2026-06-01T08:00"), (i * 10 + static_cast<int>(random() % 15U)) * std::int64_t { 86'400'000 });
            pair.labAt = base::plusMs(pair.meterAt, random() % 6U == 0 ? 7'200'000 : 300'000); // too late after one another: excluded
            pair.by = base::OperatorId("N1");
            pair.sampleType = "venous";
            pair.meterResult = parseReading(random() % 3U == 0 ? "190" : "121").value();
            pair.labResult = parseReading("120").value();
            pair.unit = base::GlucoseUnit::MgPerDl;
            if (history % 2 == 1 && random() % 3U == 0)
                pair.round = "R" + std::to_string(random() % 3U);
            pairs.push_back(pair);
        }
        const auto report = desk.importFiles(pairs);
        for (const auto& file : report.files)
            ASSERT_TRUE(file.rejected.empty()) << base::plainly(file.rejected.front().fault);
        auto reader = desk.reader();
        const auto policyAt = [&](base::Moment when) -> const Policy& { return reader.policyAt(when); };
        for (int day = 0; day < 170; day += 4) {
            const base::Moment at = base::plusMs(desk.at("2026-06-01T12:00"), day * std::int64_t { 86'400'000 });
            const auto every = comparisonsOf(reader.pairs(base::MeterId("M1")).value(), at, policyAt);
            const auto few = comparisonsOf(reader.pairsThatCount(base::MeterId("M1"), at).value(), at, policyAt);
            const auto passed = [](const Comparison& c) { return c.judged.outcome == PairOutcome::Inside; };
            const auto lastPassed = [&](const std::vector<Comparison>& all) {
                const auto found = std::find_if(all.rbegin(), all.rend(), passed);
                return found == all.rend() ? std::string() : standingPair(*found).pair.pair.value;
            };
            ASSERT_EQ(few.empty(), every.empty());
            ASSERT_EQ(lastPassed(few), lastPassed(every)) << "history " << history << ", day " << day;
            if (every.empty())
                continue;
            ASSERT_EQ(standingPair(few.back()).pair.pair, standingPair(every.back()).pair.pair);
            ASSERT_EQ(few.back().judged.outcome, every.back().judged.outcome);
            ASSERT_EQ(few.back().pairs.size(), every.back().pairs.size()) << "a round is whole";
        }
    }
}

TEST(ShortWays, ARunIsAnnulledByWhicheverWayItsKeyIsWritten)
{
    for (const char* key : { "M1/2026-05-04/low/1", "M1/2026-05-04/low", "M1/2026-05-04T00:00/low/1" }) {
        StoreDesk desk;
        desk.runSet("M1/2026-05-04", "2026-05-04T07:00", "61", "305");
        desk.record(acts::EntryAnnulled { desk.now(), base::OperatorId("C1"), "control_runs.csv", key, "typed on the wrong meter" });
        auto reader = desk.reader();
        const auto runs = reader.runs(base::SetId("M1/2026-05-04"));
        ASSERT_TRUE(runs);
        ASSERT_EQ(runs->size(), 1U) << key;
        EXPECT_EQ(runs->front().run.level, Level::High) << key;
    }
}

} // namespace mk::store
