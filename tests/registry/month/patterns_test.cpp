// SPDX-License-Identifier: GPL-3.0-or-later
// Each pattern of handbook 7.2 at its limit and one below.
#include "registry/control/late_entry.h"
#include "registry/month/operator_month.h"
#include "registry/month/patterns.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::registry {
namespace {

using sample::at;

std::string may(int day, const char* time = "07:00")
{
    return "2026-05-" + std::string(day < 10 ? "0" : "") + std::to_string(day) + "T" + time;
}

SetRecord setOn(const std::string& time, const std::string& low, Verdict verdict = Verdict::Accepted)
{
    static std::int64_t seq = 100;
    RunRecord run;
    run.seq = run.versionSeq = { ++seq };
    run.run = sample::aRun("set-" + time, time, Level::Low, low);
    run.judged.level = Level::Low;
    run.judged.valid = true;
    run.judged.verdict = verdict;
    run.judged.mean = sample::decimal("60");
    run.judged.sd = sample::decimal("3");
    run.judged.stripLot = base::StripLotId("S1");
    run.judged.controlLot = base::ControlLotId("CL");
    SetRecord set;
    set.seq = { ++seq };
    set.judged.set = run.run.set;
    set.judged.verdict = verdict;
    set.judged.firstAt = set.judged.lastAt = run.run.at;
    set.judged.ward = base::WardId("W1");
    set.runs = { run };
    return set;
}

MonthMeterInput meterWith(const std::string& id, std::vector<SetRecord> sets)
{
    MonthMeterInput input;
    input.meter.act.meter = base::MeterId(id);
    input.meter.act.ward = base::WardId("W1");
    input.sets = std::move(sets);
    input.wards = { { {}, base::WardId("W1"), at("2026-01-01T00:00") } };
    input.states = { { { 1 }, MeterState::InService, at("2026-01-01T00:00"), {} } };
    return input;
}

std::vector<Pattern> found(
    const std::vector<MonthMeterInput>& meters, std::string_view code, const std::function<void(PatternInput&)>& more = {})
{
    const MonthFigures figures = monthFigures(
        meters, { 2026, 5 }, base::WardId("W1"), defaultPolicy(), sample::berlin(), at("2026-06-02T10:00"));
    PatternInput input { meters, figures, sample::berlin() };
    if (more)
        more(input);
    auto all = patternsOf(input);
    std::erase_if(all, [&](const Pattern& pattern) { return word(pattern.code) != code; });
    return all;
}

std::vector<SetRecord> lows(const std::vector<std::string>& values)
{
    std::vector<SetRecord> sets;
    for (std::size_t i = 0; i < values.size(); ++i)
        sets.push_back(setOn(may(static_cast<int>(i) + 1), values[i]));
    return sets;
}

TEST(Patterns, FourEqualValuesRunningAreListedAndThreeAreNot)
{
    EXPECT_TRUE(found({ meterWith("M1", lows({ "60", "60", "60", "61", "60" })) }, "same-value").empty());
    const auto four = found({ meterWith("M1", lows({ "59", "60", "60", "60", "60", "61" })) }, "same-value");
    ASSERT_EQ(four.size(), 1u);
    EXPECT_EQ(four.front().evidence.size(), 4u);
}

/// A failed set on that control vial, and where wanted a good one on another after it.
std::vector<SetRecord> failedOn(const char* vial, bool thenHeld)
{
    SetRecord failed = setOn(may(16, "06:40"), "90", Verdict::Rejected);
    failed.runs.front().run.controlVial = base::ControlVialId(vial);
    failed.runs.front().judged.attempt = 1;
    std::vector<SetRecord> sets { failed };
    if (thenHeld) {
        sets.push_back(setOn(may(16, "14:00"), "60"));
        sets.back().runs.front().run.controlVial = base::ControlVialId("fresh");
    }
    return sets;
}

TEST(Patterns, ABadControlVialIsOneVialNotFiveMeters)
{
    std::vector<MonthMeterInput> meters;
    for (const char* meter : { "M1", "M2", "M3", "M4", "M5" })
        meters.push_back(meterWith(meter, failedOn("bad", true)));
    const auto all = found(meters, "bad-control-vial");
    ASSERT_EQ(all.size(), 1u);
    EXPECT_EQ(all.front().facts.vial, "bad");
    EXPECT_EQ(all.front().facts.count, 5u);
    EXPECT_TRUE(all.front().facts.ended);
    EXPECT_EQ(all.front().about.size(), 5u);
    EXPECT_EQ(all.front().evidence.size(), 5u);
}

TEST(Patterns, ABadControlVialLeavesNoMeterToWatch)
{
    std::vector<MonthMeterInput> meters;
    for (const char* meter : { "M1", "M2", "M3" })
        meters.push_back(meterWith(meter, failedOn("bad", false)));
    auto alone = failedOn("bad", false);
    alone.push_back(setOn(may(17), "91", Verdict::Rejected));
    meters.push_back(meterWith("M4", alone));
    const MonthFigures figures = monthFigures(
        meters, { 2026, 5 }, base::WardId("W1"), defaultPolicy(), sample::berlin(), at("2026-06-02T10:00"));
    ASSERT_EQ(figures.meters.size(), 4u);
    EXPECT_EQ(figures.totals.rejectedSets, 5u) << "each is counted all the same";
    EXPECT_EQ(figures.meters[0].rejectedSets.front().badVial, "bad");
    EXPECT_FALSE(isToWatch(figures.meters[0], defaultPolicy()));
    EXPECT_EQ(figures.meters[3].rejectedSets.back().badVial, "");
    EXPECT_TRUE(isToWatch(figures.meters[3], defaultPolicy())) << "it failed on another vial too";
}

TEST(Patterns, AControlVialIsNamedFromThreeFirstFailuresOnTwoMetersOn)
{
    EXPECT_TRUE(found({ meterWith("M1", failedOn("bad", false)), meterWith("M2", failedOn("bad", false)) }, "bad-control-vial").empty());
    const auto all = found(
        { meterWith("M1", failedOn("bad", false)), meterWith("M2", failedOn("bad", false)), meterWith("M3", failedOn("bad", false)) },
        "bad-control-vial");
    ASSERT_EQ(all.size(), 1u);
    EXPECT_FALSE(all.front().facts.ended);
}

TEST(Patterns, OnlyTheMeanItself)
{
    EXPECT_TRUE(found({ meterWith("M1", lows({ "60", "60", "60", "60", "60" })) }, "only-at-mean").empty()) << "five are too few";
    EXPECT_EQ(found({ meterWith("M1", lows({ "60", "60", "60", "60", "60", "60" })) }, "only-at-mean").size(), 1u);
    EXPECT_TRUE(found({ meterWith("M1", lows({ "60", "60", "60", "60", "60", "61" })) }, "only-at-mean").empty());
}

TEST(Patterns, NoFailureEverNeedsManySets)
{
    std::vector<MonthMeterInput> meters;
    for (int m = 0; m < 10; ++m) {
        std::vector<SetRecord> sets;
        for (int day = 1; day <= 30; ++day)
            sets.push_back(setOn(may(day), std::to_string(57 + (day + m) % 7)));
        meters.push_back(meterWith("M" + std::to_string(m), sets));
    }
    EXPECT_EQ(found(meters, "no-failure").size(), 1u) << "300 sets";
    meters.back().sets.pop_back();
    EXPECT_TRUE(found(meters, "no-failure").empty()) << "299";
    meters.back().sets.push_back(setOn(may(30), "80", Verdict::Rejected));
    EXPECT_TRUE(found(meters, "no-failure").empty()) << "one was rejected";
}

TEST(Patterns, SetsEnteredInOneMinuteThatWereDoneAtOtherTimes)
{
    const auto marked = [](SetRecord set, const std::string& recorded) {
        set.runs.front().mark = markOf(set.runs.front().run.at, at(recorded), "N1", false, defaultPolicy());
        return set;
    };
    std::vector<SetRecord> sets { marked(setOn(may(1), "60"), "2026-05-04T10:00:05"), marked(setOn(may(2), "61"), "2026-05-04T10:00:20") };
    EXPECT_TRUE(found({ meterWith("M1", sets) }, "same-minute").empty());
    sets.push_back(marked(setOn(may(3), "59"), "2026-05-04T10:00:50"));
    EXPECT_EQ(found({ meterWith("M1", sets) }, "same-minute").size(), 1u);
    sets.back().runs.front().mark->recordedAt = at("2026-05-04T10:01:00");
    EXPECT_TRUE(found({ meterWith("M1", sets) }, "same-minute").empty());
}

TEST(Patterns, ManyBackDatedEntries)
{
    std::vector<SetRecord> sets;
    for (int day = 1; day <= 5; ++day) {
        sets.push_back(setOn(may(day), std::to_string(56 + day)));
        sets.back().runs.front().mark = markOf(sets.back().runs.front().run.at, at(may(day, "08:30")), "N1", false, defaultPolicy());
    }
    EXPECT_EQ(found({ meterWith("M1", sets) }, "back-dated").size(), 1u);
    sets.back().runs.front().mark->late = false;
    EXPECT_TRUE(found({ meterWith("M1", sets) }, "back-dated").empty());
}

TEST(Patterns, AVialBeforeItsOpeningAndAfterItsEnd)
{
    const std::vector<MonthMeterInput> meters { meterWith("M1", lows({ "60", "61", "59" })) };
    const std::string vial = meters.front().sets.front().runs.front().run.stripVial.value;
    const auto spell = [&](const char* opened, const char* ended) {
        return [&, opened, ended](PatternInput& input) { input.vials[vial] = { at(opened), at(ended) }; };
    };
    EXPECT_TRUE(found(meters, "vial-not-open", spell("2026-05-01T07:00", "2026-05-03T07:00")).empty()) << "to the minute";
    const auto both = found(meters, "vial-not-open", spell("2026-05-01T07:01", "2026-05-03T06:59"));
    ASSERT_EQ(both.size(), 2u);
    EXPECT_NE(both[0].facts.ended, both[1].facts.ended);
}

TEST(Patterns, ARunWhileTheMeterStoodAsAtRepair)
{
    auto meter = meterWith("M1", lows({ "60", "61", "59" }));
    meter.states.push_back({ { 2 }, MeterState::AtRepair, at("2026-05-02T00:00"), {} });
    meter.states.push_back({ { 3 }, MeterState::InService, at("2026-05-03T00:00"), {} });
    EXPECT_EQ(found({ meter }, "run-at-repair").size(), 1u) << "the second of May only";
}

TEST(Patterns, ThreeAttemptsForOneAcceptedSet)
{
    std::vector<SetRecord> sets = lows({ "80", "81", "60" });
    sets[0].judged.verdict = sets[1].judged.verdict = Verdict::Rejected;
    EXPECT_EQ(found({ meterWith("M1", sets) }, "many-attempts").size(), 1u);
    sets.erase(sets.begin());
    EXPECT_TRUE(found({ meterWith("M1", sets) }, "many-attempts").empty());
}

TEST(Patterns, ThreeVoidsByOnePersonButNotByThree)
{
    const std::vector<MonthMeterInput> meters { meterWith("M1", lows({ "60" })) };
    const auto by = [](std::vector<const char*> people) {
        return [people](PatternInput& input) {
            for (const char* person : people)
                input.voided.push_back({ { 7 }, base::OperatorId(person), base::MeterId("M1") });
        };
    };
    EXPECT_TRUE(found(meters, "voids-by-one", by({ "N1", "N2", "C1" })).empty());
    EXPECT_EQ(found(meters, "voids-by-one", by({ "N1", "N1", "N1" })).size(), 1u);
}

TEST(OperatorMonths, CountByPersonAndCompareWithTheWard)
{
    std::vector<SetRecord> sets;
    for (int day = 1; day <= 20; ++day) {
        sets.push_back(setOn(may(day), "60"));
        sets.push_back(setOn(may(day, "15:00"), "60", day <= 3 ? Verdict::Rejected : Verdict::Accepted));
        sets.back().runs.front().run.by = base::OperatorId("N2");
        sets.push_back(setOn(may(day, "23:00"), "60"));
    }
    const std::vector<MonthMeterInput> meters { meterWith("M1", sets) };
    const auto people = operatorMonths(meters, { 2026, 5 }, base::WardId("W1"), sample::berlin());
    ASSERT_EQ(people.size(), 2u);
    EXPECT_EQ(people[0].runs, 40u);
    EXPECT_FALSE(people[0].aboveTwiceWard);
    EXPECT_EQ(people[1].runs, 20u);
    EXPECT_EQ(people[1].rejected, 3u);
    EXPECT_DOUBLE_EQ(*people[1].rejectedPercent(), 15.0);
    EXPECT_TRUE(people[1].aboveTwiceWard) << "15 % against the ward's 5 %";
    EXPECT_TRUE(operatorMonths(meters, { 2026, 6 }, base::WardId("W1"), sample::berlin()).empty());
    EXPECT_TRUE(operatorMonths(meters, { 2026, 5 }, base::WardId("W2"), sample::berlin()).empty());
}

TEST(Patterns, AnotherWardsRecordsAreNotThisWards)
{
    auto meter = meterWith("M1", lows({ "60", "60", "60", "60" }));
    meter.wards = { { {}, base::WardId("W2"), at("2026-01-01T00:00") } };
    EXPECT_TRUE(found({ meter }, "same-value").empty());
}

} // namespace
} // namespace mk::registry
