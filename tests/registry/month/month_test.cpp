// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/month.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using base::Moment;

const Zone& monthZone()
{
    static const Zone zone = Zone::named("Europe/Berlin").value();
    return zone;
}

Moment local(int day, int hour, int minute, unsigned month = 10)
{
    const base::Date date { std::chrono::year(2026) / std::chrono::month(month) / std::chrono::day(static_cast<unsigned>(day)) };
    return monthZone().at(monthZone().resolve({ date, (hour * 60 + minute) * 60'000 }).second.utcMs);
}

constexpr Month kOctober { 2026, 10 };
const Moment kAfter = { local(30, 12, 0, 11) };

RunRecord aRun(Level level, const std::string& typed, Moment at, Verdict verdict = Verdict::Accepted)
{
    static std::int64_t seq = 1000;
    RunRecord record;
    record.seq = record.versionSeq = { ++seq };
    record.run.level = level;
    record.run.at = at;
    record.run.result = parseReading(typed).value();
    record.judged.level = level;
    record.judged.valid = verdict != Verdict::Invalid;
    record.judged.verdict = verdict;
    record.judged.stripLot = base::StripLotId("S1");
    record.judged.controlLot = base::ControlLotId(level == Level::Low ? "CL" : "CH");
    return record;
}

SetRecord aSet(std::vector<RunRecord> runs, Verdict verdict = Verdict::Accepted)
{
    static std::int64_t seq = 5000;
    SetRecord set;
    set.seq = { ++seq };
    set.judged.verdict = verdict;
    set.judged.firstAt = runs.front().run.at;
    set.judged.lastAt = runs.back().run.at;
    set.runs = std::move(runs);
    return set;
}

SetRecord acceptedAt(Moment at)
{
    return aSet({ aRun(Level::High, "300", at) });
}

MonthMeterInput aMeter(const std::string& id, std::vector<SetRecord> sets = {}, const std::string& ward = "W5")
{
    MonthMeterInput input;
    input.meter.act.meter = base::MeterId(id);
    input.meter.act.ward = base::WardId(ward);
    input.sets = std::move(sets);
    input.wards = { { {}, base::WardId(ward), local(1, 0, 0, 4) } };
    input.states = { { { 1 }, MeterState::InService, local(1, 0, 0, 4), {} } };
    return input;
}

MonthFigures figuresOf(
    const std::vector<MonthMeterInput>& meters, std::optional<std::string> ward = {}, Month month = kOctober, Moment cutOff = kAfter)
{
    return monthFigures(meters, month, ward ? std::optional(base::WardId(*ward)) : std::nullopt, defaultPolicy(), monthZone(), cutOff);
}

/// One set a day of one level, from the first of October on.
std::vector<SetRecord> dailyHighs(const std::vector<std::string>& values)
{
    std::vector<SetRecord> sets;
    for (std::size_t i = 0; i < values.size(); ++i)
        sets.push_back(aSet({ aRun(Level::High, values[i], local(static_cast<int>(i) + 1, 6, 0)) }));
    return sets;
}

IncidentRecord unusedOn(Moment at, std::optional<Moment> told = {})
{
    IncidentRecord incident;
    incident.act.what = IncidentKind::NotInUse;
    incident.act.at = at;
    incident.act.noticedAt = told;
    return incident;
}

Occasion occasionOf(const MeterMonth& meter, int day)
{
    for (const auto& each : meter.days)
        if (each.day == monthZone().dateOf(local(day, 12, 0)))
            return each.what;
    ADD_FAILURE() << "day " << day << " owes nothing";
    return Occasion::Missed;
}

TEST(ParseMonth, TakesYearAndMonthAndNothingElse)
{
    EXPECT_EQ(toText(parseMonth("2026-10").value()), "2026-10");
    for (const char* text : { "", "2026", "2026-13", "2026-00", "2026-1", "2026-10-01", "october", "+026-10", "2026/10" })
        EXPECT_FALSE(parseMonth(text)) << text;
}

// Vectors of handbook 6.1: mean 100, SD 2.582, CV 2.58 %; mean 5.56, SD 0.1265, CV 2.28 %.
TEST(LevelFigures, MeanSdAndCvAreThoseOfTheHandbook)
{
    const auto mg = figuresOf({ aMeter("M-1", dailyHighs({ "98", "102", "100", "97", "103", "101", "99", "100", "104", "96" })) });
    const auto& first = mg.meters.at(0).levels.at(0);
    EXPECT_EQ(first.n, 10u);
    EXPECT_NEAR(*first.mean, 100, 1e-12);
    EXPECT_NEAR(*first.sd, 2.582, 5e-4);
    EXPECT_NEAR(*first.cvPercent, 2.58, 5e-3);
    EXPECT_EQ(*first.min, 96);
    EXPECT_EQ(*first.max, 104);
    const auto mmol = figuresOf({ aMeter("M-1", dailyHighs({ "5.4", "5.5", "5.6", "5.7", "5.6", "5.4", "5.5", "5.6", "5.8", "5.5" })) });
    EXPECT_NEAR(*mmol.meters.at(0).levels.at(0).mean, 5.56, 1e-12);
    EXPECT_NEAR(*mmol.meters.at(0).levels.at(0).sd, 0.1265, 5e-5);
    EXPECT_NEAR(*mmol.meters.at(0).levels.at(0).cvPercent, 2.28, 5e-3);
}

// Handbook S22: four meters near 300 (SD 9) and one at 330 give a leave-one-out SDI of 3.3; with itself the mean would be 306.
// 291 and 309 in turn: mean 300, and the SD of 24 results is sqrt(24 x 81 / 23) = 9.1936, so (330 - 300) / 9.1936 = 3.263 (analytic).
std::vector<MonthMeterInput> fiveMeters()
{
    const std::vector<std::string> near { "291", "309", "291", "309", "291", "309" };
    std::vector<MonthMeterInput> meters;
    for (const char* id : { "M-1", "M-2", "M-3", "M-4" })
        meters.push_back(aMeter(id, dailyHighs(near)));
    meters.push_back(aMeter("M-5", dailyHighs({ "330", "330", "330", "330", "330", "330" })));
    return meters;
}

TEST(LevelFigures, OneBadMeterStandsOutAgainstTheOthers)
{
    const auto figures = figuresOf(fiveMeters());
    const auto& bad = figures.meters.at(4).levels.at(0);
    EXPECT_EQ(bad.groupMeters, 5u);
    EXPECT_EQ(bad.othersResults, 24u);
    EXPECT_NEAR(*bad.othersMean, 300, 1e-12);
    EXPECT_NEAR(*bad.sdi, 30 / std::sqrt(24.0 * 81 / 23), 1e-12);
    EXPECT_NEAR(*bad.sdi, 3.3, 0.05);
    EXPECT_EQ(*bad.cvRatio, 0);
    EXPECT_TRUE(isToWatch(figures.meters.at(4), defaultPolicy()));
    EXPECT_FALSE(isToWatch(figures.meters.at(0), defaultPolicy()));
    EXPECT_NEAR(*figures.groups.at(0).mean, 306, 1e-12);
}

TEST(LevelFigures, TheGroupIsAllWardsThoughOneIsShown)
{
    auto meters = fiveMeters();
    for (std::size_t i = 0; i < 4; ++i)
        meters[i].wards[0].ward = base::WardId("W3");
    const auto figures = figuresOf(meters, "W5");
    ASSERT_EQ(figures.meters.size(), 1u);
    EXPECT_EQ(figures.meters.at(0).meter.value, "M-5");
    EXPECT_NEAR(*figures.meters.at(0).levels.at(0).sdi, 3.263, 1e-3);
}

TEST(LevelFigures, ASmallGroupGivesNoSdi)
{
    auto meters = fiveMeters();
    meters.pop_back();
    EXPECT_FALSE(figuresOf(meters).meters.at(0).levels.at(0).sdi) << "four meters";
    auto few = fiveMeters();
    for (auto& meter : few)
        meter.sets.resize(4);
    EXPECT_FALSE(figuresOf(few).meters.at(0).levels.at(0).sdi) << "16 results of others";
    for (auto& meter : few)
        meter.sets.push_back(aSet({ aRun(Level::High, "300", local(9, 6, 0)) }));
    EXPECT_TRUE(figuresOf(few).meters.at(0).levels.at(0).sdi) << "20 results of others";
}

TEST(LevelFigures, WhatGaveNoNumberOrDoesNotCountIsExcludedAndCounted)
{
    auto sets = dailyHighs({ "300", "310" });
    sets.push_back(aSet({ aRun(Level::High, "HI", local(3, 6, 0), Verdict::Rejected), aRun(Level::High, "305", local(3, 6, 5)) }));
    sets.push_back(aSet({ aRun(Level::High, "ERR:E-4", local(4, 6, 0), Verdict::Partial) }, Verdict::Partial));
    sets.push_back(aSet({ aRun(Level::High, "999", local(5, 6, 0), Verdict::Invalid) }, Verdict::Invalid));
    sets.push_back(aSet({ aRun(Level::High, "LO", local(6, 6, 0), Verdict::Rejected) }, Verdict::Rejected));
    const auto figures = figuresOf({ aMeter("M-1", sets) });
    const auto& meter = figures.meters.at(0);
    const auto& level = meter.levels.at(0);
    EXPECT_EQ(level.n, 3u);
    EXPECT_NEAR(*level.mean, 305, 1e-12);
    EXPECT_EQ(level.excluded(), 4u);
    EXPECT_EQ(level.invalid, 1u);
    EXPECT_EQ(level.high, 1u);
    EXPECT_EQ(level.low, 1u);
    EXPECT_EQ(level.errors, 1u);
    EXPECT_EQ(level.rejected, 2u);
    EXPECT_EQ(meter.sets, 6u);
    EXPECT_EQ(meter.acceptedSets, 3u);
    EXPECT_EQ(meter.attempts, 7u);
    EXPECT_NEAR(*meter.attemptsPerAcceptedSet(), 7.0 / 3.0, 1e-12);
}

TEST(LevelFigures, BiasIsAgainstTheNewestTarget)
{
    auto sets = dailyHighs({ "300", "306" });
    EXPECT_FALSE(figuresOf({ aMeter("M-1", sets) }).meters.at(0).levels.at(0).biasPercent) << "a range only";
    sets[0].runs[0].judged.mean = base::Decimal::parse("290").value();
    sets[0].runs[0].judged.sd = base::Decimal::parse("9").value();
    sets[1].runs[0].judged.mean = base::Decimal::parse("300").value();
    sets[1].runs[0].judged.sd = base::Decimal::parse("9").value();
    EXPECT_NEAR(*figuresOf({ aMeter("M-1", sets) }).meters.at(0).levels.at(0).biasPercent, 1.0, 1e-12);
}

TEST(MonthOccasions, InTimeLateMissedAndAfterAMissedDay)
{
    const auto figures = figuresOf({ aMeter("M-1",
        { acceptedAt(local(1, 6, 0)), acceptedAt(local(2, 6, 0)), acceptedAt(local(3, 8, 1)), acceptedAt(local(5, 9, 0)),
            acceptedAt(local(5, 21, 0)) }) });
    const auto& meter = figures.meters.at(0);
    EXPECT_EQ(occasionOf(meter, 1), Occasion::Met) << "nothing before it";
    EXPECT_EQ(occasionOf(meter, 2), Occasion::Met) << "on the instant";
    EXPECT_EQ(occasionOf(meter, 3), Occasion::Late);
    EXPECT_EQ(meter.days.at(2).lateMinutes, 121);
    EXPECT_EQ(occasionOf(meter, 4), Occasion::Missed);
    EXPECT_EQ(occasionOf(meter, 5), Occasion::Met) << "the day after a missed day is not late as well";
    EXPECT_EQ(meter.required(), 31u);
    EXPECT_EQ(meter.met, 3u);
    EXPECT_EQ(meter.late, 1u);
    EXPECT_EQ(meter.missed, 27u);
}

// A month that was signed when each day was counted against yesterday's minute keeps its figures.
TEST(MonthOccasions, CountedByMinuteTheyAreAsTheyWere)
{
    const auto meter = monthFigures(std::vector { aMeter("M-1",
                                        { acceptedAt(local(1, 6, 0)), acceptedAt(local(2, 6, 0)), acceptedAt(local(3, 6, 1)),
                                            acceptedAt(local(5, 5, 0)), acceptedAt(local(5, 21, 0)) }) },
        kOctober, {}, defaultPolicy(), monthZone(), kAfter, CountedBy::Minute)
                           .meters.at(0);
    EXPECT_EQ(occasionOf(meter, 2), Occasion::Met) << "on the instant";
    EXPECT_EQ(occasionOf(meter, 3), Occasion::Late);
    EXPECT_EQ(meter.days.at(2).lateMinutes, 1);
    EXPECT_EQ(occasionOf(meter, 5), Occasion::Late);
    EXPECT_EQ(meter.met, 2u);
    EXPECT_EQ(meter.late, 2u);
    EXPECT_EQ(meter.missed, 27u);
    EXPECT_FALSE(meter.notCleared.percent());
}

TEST(MonthOccasions, TheSetOfTheLastDayBeforeClearsTheFirst)
{
    EXPECT_EQ(occasionOf(figuresOf({ aMeter("M-1", { acceptedAt(local(30, 3, 0, 9)), acceptedAt(local(1, 6, 0)) }) }).meters.at(0), 1),
        Occasion::Late);
    EXPECT_EQ(occasionOf(figuresOf({ aMeter("M-1", { acceptedAt(local(30, 7, 0, 9)), acceptedAt(local(1, 6, 0)) }) }).meters.at(0), 1),
        Occasion::Met);
}

TEST(MonthOccasions, ADayDeclaredUnusedIsExcusedAndTheNextIsNotLate)
{
    auto meter = aMeter("M-1", { acceptedAt(local(9, 6, 0)), acceptedAt(local(11, 7, 0)) });
    meter.incidents = { unusedOn(local(10, 5, 0)), unusedOn(local(12, 5, 0), local(13, 0, 0)),
        unusedOn(local(14, 5, 0), local(14, 23, 59)) };
    const auto result = figuresOf({ meter }).meters.at(0);
    EXPECT_EQ(occasionOf(result, 10), Occasion::Excused);
    EXPECT_EQ(occasionOf(result, 11), Occasion::Met);
    EXPECT_EQ(occasionOf(result, 12), Occasion::ExcusedAfterwards);
    EXPECT_EQ(occasionOf(result, 14), Occasion::Excused);
    EXPECT_EQ(result.excused, 3u);
    EXPECT_EQ(result.excusedAfterwards, 1u);
    EXPECT_EQ(result.required(), 28u);
}

TEST(MonthOccasions, OnlyDaysInServiceOnTheWardAreOwed)
{
    auto meter = aMeter("M-1");
    meter.states = { { { 1 }, MeterState::InService, local(1, 0, 0, 4), {} }, { { 2 }, MeterState::Withdrawn, local(5, 9, 0), {} },
        { { 3 }, MeterState::InService, local(9, 23, 0), {} } };
    EXPECT_EQ(figuresOf({ meter }).meters.at(0).required(), 5u + 23u) << "1 to 5 and 9 to 31 October";
    meter.wards = { { {}, base::WardId("W5"), local(1, 0, 0, 4) }, { {}, base::WardId("W3"), local(20, 12, 0) } };
    EXPECT_EQ(figuresOf({ meter }, "W5").meters.at(0).required(), 5u + 12u) << "1 to 5 and 9 to 20 October";
    EXPECT_EQ(figuresOf({ meter }, "W3").meters.at(0).required(), 12u) << "20 to 31 October";
    EXPECT_TRUE(figuresOf({ meter }, "W7").meters.empty());
}

// Handbook 10.2: accepted 2026-10-24 22:30 (+02:00) is good to 2026-10-25 21:30 (+01:00); the 25th has 25 hours.
TEST(MonthOccasions, TheDayOf25HoursOwesOneControl)
{
    EXPECT_EQ(occasionOf(figuresOf({ aMeter("M-1", { acceptedAt(local(24, 22, 30)), acceptedAt(local(25, 21, 30)) }) }).meters.at(0), 25),
        Occasion::Met);
    const auto late = figuresOf({ aMeter("M-1", { acceptedAt(local(24, 22, 30)), acceptedAt(local(25, 23, 31)) }) }).meters.at(0);
    EXPECT_EQ(occasionOf(late, 25), Occasion::Late);
    EXPECT_EQ(late.days.at(24).lateMinutes, 121);
    EXPECT_EQ(late.required(), 31u);
}

// Handbook 10.2: accepted 2026-03-28 22:30 (+01:00) is good to 2026-03-29 23:30 (+02:00); the 29th has 23 hours.
TEST(MonthOccasions, TheDayOf23HoursOwesOneControl)
{
    auto meter = aMeter("M-1", { acceptedAt(local(28, 22, 30, 3)), acceptedAt(local(29, 23, 30, 3)) });
    meter.states[0].since = local(1, 0, 0, 3);
    meter.wards[0].since = local(1, 0, 0, 3);
    const auto result = figuresOf({ meter }, {}, { 2026, 3 }).meters.at(0);
    EXPECT_EQ(result.days.size(), 31u);
    EXPECT_EQ(result.days.at(28).what, Occasion::Met);
}

TEST(MonthOccasions, DaysThatHaveNotBegunOweNothing)
{
    const auto figures = figuresOf(
        { aMeter("M-1", { acceptedAt(local(1, 6, 0)), acceptedAt(local(2, 6, 0)), acceptedAt(local(3, 6, 0)) }) }, {}, kOctober,
        local(3, 12, 0));
    EXPECT_EQ(figures.meters.at(0).required(), 3u);
    EXPECT_EQ(figures.meters.at(0).met, 3u) << "today's control is done";
    EXPECT_FALSE(figures.complete);
    EXPECT_EQ(figures.meters.at(0).levels.at(0).n, 3u) << "results are counted as they come";
}

TEST(RejectedSets, SayHowTheyEnded)
{
    auto repeated = aSet({ aRun(Level::High, "338", local(7, 6, 0), Verdict::Rejected), aRun(Level::High, "306", local(7, 6, 5)) });
    repeated.runs[0].judged.rules = { "1-3s" };
    auto left = aSet({ aRun(Level::High, "340", local(9, 6, 0), Verdict::Rejected) }, Verdict::Rejected);
    auto meter = aMeter("M-1", { repeated, left, acceptedAt(local(9, 14, 0)) });
    StopRecord stop;
    stop.seq = { 9000 };
    stop.stop.because = left.seq;
    meter.stops = { stop };
    LookbackRecord lookback;
    lookback.lookback.because = { 9000 };
    meter.lookbacks = { lookback };
    const auto result = figuresOf({ meter }).meters.at(0);
    ASSERT_EQ(result.rejectedSets.size(), 2u);
    EXPECT_TRUE(result.rejectedSets[0].bySameSet);
    EXPECT_TRUE(result.rejectedSets[0].stops.empty());
    EXPECT_FALSE(result.rejectedSets[1].bySameSet);
    EXPECT_EQ(*result.rejectedSets[1].clearedAt, local(9, 14, 0));
    EXPECT_EQ(result.rejectedSets[1].stops.size(), 1u);
    EXPECT_EQ(result.rejectedSets[1].lookbacks.size(), 1u);
    ASSERT_EQ(result.rules.size(), 1u);
    EXPECT_EQ(result.rules[0].rule, "1-3s");
}

TEST(MonthTotals, AddUpOverTheMeters)
{
    const auto figures = figuresOf(
        { aMeter("M-1", { acceptedAt(local(1, 6, 0)) }), aMeter("M-2", { acceptedAt(local(1, 6, 0)), acceptedAt(local(2, 5, 0)) }) });
    EXPECT_EQ(figures.totals.met, 3u);
    EXPECT_EQ(figures.totals.required(), 62u);
    EXPECT_DOUBLE_EQ(*figures.totals.compliancePercent(), 4.8);
    EXPECT_FALSE(MonthTotals().compliancePercent());
}

TEST(MonthFigures, OrderOfTheMetersChangesNothing)
{
    auto meters = fiveMeters();
    const auto before = figuresOf(meters);
    std::ranges::reverse(meters);
    const auto after = figuresOf(meters);
    ASSERT_EQ(before.meters.size(), after.meters.size());
    for (std::size_t i = 0; i < before.meters.size(); ++i) {
        EXPECT_EQ(before.meters[i].meter, after.meters[i].meter);
        EXPECT_DOUBLE_EQ(before.meters[i].levels[0].sdi.value(), after.meters[i].levels[0].sdi.value());
    }
}

} // namespace
} // namespace mk::registry
