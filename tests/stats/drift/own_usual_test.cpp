// SPDX-License-Identifier: GPL-3.0-or-later
#include "reference/reference_table.h"
#include "stats/drift/drift_group.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

namespace mk::stats {
namespace {

using reference::ReferenceTable;

constexpr double kTolerance = 1e-5;
const std::map<std::string, std::size_t> kLevels = { { "low", 0 }, { "normal", 1 }, { "high", 2 } };

const char* wayText(Way way)
{
    return way == Way::High ? "high" : way == Way::Low ? "low" : "";
}
const char* yesText(bool yes)
{
    return yes ? "yes" : "";
}
std::string markText(const std::optional<std::int64_t>& mark)
{
    return mark ? std::to_string(*mark) : "";
}

void expectNumber(const std::string& expected, const std::optional<double>& value, const std::string& what)
{
    ASSERT_EQ(expected.empty(), !value.has_value()) << what;
    if (value) {
        EXPECT_NEAR(std::stod(expected), *value, kTolerance) << what;
    }
}

UsualReading readingOf(const std::string& value, std::size_t level, double base, double cv)
{
    UsualReading reading { level, UsualReading::Kind::Number, 0, base, cv, HalfLimit {}.percentAt(base) };
    if (value == "HI" || value == "LO")
        reading.kind = value == "HI" ? UsualReading::Kind::High : UsualReading::Kind::Low;
    else
        reading.value = std::stod(value);
    return reading;
}

class SeriesOfOneMeter : public testing::TestWithParam<const char*> { };

TEST_P(SeriesOfOneMeter, IsJudgedAsPublished)
{
    const ReferenceTable rows(std::string("drift/") + GetParam() + ".csv");
    const ReferenceTable expected(std::string("drift/") + GetParam() + ".expected.csv");
    const UsualSettings settings;
    UsualState state;
    std::size_t done = 0;
    for (std::size_t row = 0; row < rows.size();) {
        if (rows.text(row, "level") == "act") {
            if (rows.text(row, "value") == "restart")
                restart(state);
            else
                acceptAsItStands(state, settings);
            ++row;
            continue;
        }
        const std::string set = rows.text(row, "set");
        std::vector<UsualReading> readings;
        for (; row < rows.size() && rows.text(row, "set") == set && rows.text(row, "level") != "act"; ++row)
            readings.push_back(readingOf(
                rows.text(row, "value"), kLevels.at(rows.text(row, "level")), rows.number(row, "base"), rows.number(row, "cv_percent")));
        const UsualSet judged = advance(state, readings, std::stoll(set), settings);
        for (const auto& level : judged.levels)
            judgeApart(state, level, 0);
        const std::string what = std::string(GetParam()) + " set " + set;
        expectNumber(expected.text(done, "score"), judged.score, what);
        expectNumber(expected.text(done, "up"), state.up, what);
        expectNumber(expected.text(done, "down"), state.down, what);
        EXPECT_EQ(expected.text(done, "told"), wayText(state.told)) << what;
        EXPECT_EQ(expected.text(done, "began"), markText(state.began)) << what;
        EXPECT_EQ(expected.text(done, "stopped"), yesText(state.stopped)) << what;
        EXPECT_EQ(expected.text(done, "apart"), yesText(state.apart())) << what;
        for (const auto& [name, place] : kLevels) {
            const UsualLevel& level = state.levels[place];
            if (level.count == 0)
                continue;
            EXPECT_EQ(std::stoll(expected.text(done, "n_" + name)), level.n) << what;
            expectNumber(expected.text(done, "usual_" + name), level.usual(settings), what);
            expectNumber(expected.text(done, "newest7_" + name), level.newestMean(), what);
            expectNumber(expected.text(done, "slow_" + name), level.slow, what);
        }
        ++done;
    }
    EXPECT_EQ(done, expected.size());
}

INSTANTIATE_TEST_SUITE_P(Reference, SeriesOfOneMeter,
    testing::Values("a-in-control", "b-step-up-9", "c-step-down-6.5", "d-ramp-0.2-percent", "e-arrives-9-high", "g-wild-results-HI-LO",
        "h-levels-missing", "l-accepted-as-it-stands", "m-one-level", "o-vector-K-after-20-quiet-sets"));

class WardOfMeters : public testing::TestWithParam<const char*> { };

TEST_P(WardOfMeters, IsJudgedAsPublished)
{
    constexpr std::int64_t kDayMs = 86'400'000;
    const ReferenceTable rows(std::string("drift/") + GetParam() + ".csv");
    const ReferenceTable expected(std::string("drift/") + GetParam() + ".expected.csv");
    DriftGroup group({}, {}, 5, {});
    std::map<std::string, UsualState> states;
    std::map<std::int64_t, std::string> orderOf; // sets end a millisecond apart in their order
    std::size_t done = 0;
    for (std::size_t row = 0; row < rows.size();) {
        const std::string order = rows.text(row, "order");
        SetOnLots set { rows.text(row, "meter"), std::stoll(rows.text(row, "day")) * kDayMs + std::stoll(order), rows.text(row, "lots") };
        orderOf[set.at] = order;
        for (; row < rows.size() && rows.text(row, "order") == order; ++row) {
            const auto reading = readingOf(rows.text(row, "value"), kLevels.at(rows.text(row, "level")), 1, 1);
            set.controls.push_back({ reading.level, set.stripLot, reading.kind, reading.value, rows.number(row, "cv_percent"), {} });
        }
        UsualState& state = states[set.meter];
        const UsualState before = state;
        const auto bases = group.basesFor(set);
        const JudgedOnLots judged = judgeOnLots(state, set, bases, {});
        group.learn(set, before);
        if (judged.set) {
            MeterStanding standing { set.at, set.stripLot };
            for (std::size_t level = 0; level < kUsualLevels; ++level)
                standing.levels[level] = standingOf(state.levels[level], set.stripLot, 3, {});
            group.stand(set.meter, std::move(standing));
        }
        const std::string what = std::string(GetParam()) + " order " + order;
        const auto baseAt = [&](std::size_t level) {
            std::optional<double> base;
            for (const auto& basis : bases)
                if (basis.level == level)
                    base = basis.base;
            return base;
        };
        expectNumber(expected.text(done, "base_low"), baseAt(0), what);
        expectNumber(expected.text(done, "base_high"), baseAt(2), what);
        expectNumber(expected.text(done, "score"), judged.set ? std::optional(judged.set->score) : std::nullopt, what);
        expectNumber(expected.text(done, "up"), state.up, what);
        expectNumber(expected.text(done, "down"), state.down, what);
        EXPECT_EQ(expected.text(done, "told"), wayText(state.told)) << what;
        EXPECT_EQ(expected.text(done, "began"), state.began ? orderOf.at(*state.began) : "") << what;
        EXPECT_EQ(expected.text(done, "own_stop"), yesText(state.stopped)) << what;
        EXPECT_EQ(expected.text(done, "apart"), yesText(state.apart())) << what;
        EXPECT_EQ(expected.text(done, "cause"), state.lot ? "lot" : "") << what;
        EXPECT_EQ(expected.text(done, "stops"),
            judged.stop == UsualStop::Meter     ? "meter"
                : judged.stop == UsualStop::Lot ? "lot"
                                                : "")
            << what;
        ++done;
    }
    EXPECT_EQ(done, expected.size());
}

INSTANTIATE_TEST_SUITE_P(Reference, WardOfMeters, testing::Values("w1-new-lots", "w2-all-move"));

TEST(OwnUsual, OnTheLimitIsNotBeyondIt)
{
    const UsualSettings settings;
    UsualState state;
    for (int i = 0; i < 2; ++i) {
        const UsualReading reading { 0, UsualReading::Kind::High, 0, 100, 3, 6 };
        advance(state, std::span(&reading, 1), i, settings);
    }
    EXPECT_DOUBLE_EQ(state.up, 6);
    EXPECT_EQ(state.told, Way::High);
    UsualState onLimit;
    onLimit.up = 2;
    onLimit.upSince = 7;
    const double high = 100 * (1 + 3 * 0.03 * std::sqrt(1.5)); // three SD above: the sum comes to stand on 4
    const UsualReading reading { 0, UsualReading::Kind::Number, high, 100, 3, 6 };
    advance(onLimit, std::span(&reading, 1), 8, settings);
    EXPECT_NEAR(onLimit.up, 4, 1e-9);
    EXPECT_EQ(onLimit.told, Way::None);
}

TEST(OwnUsual, WhatIsToldOfIsNotLearned)
{
    const UsualSettings settings;
    UsualState state;
    const UsualReading reading { 2, UsualReading::Kind::High, 0, 280, 3, 6 };
    for (int i = 0; i < 6; ++i)
        advance(state, std::span(&reading, 1), i, settings);
    EXPECT_EQ(state.told, Way::High);
    EXPECT_EQ(state.began, 0);
    EXPECT_EQ(state.levels[2].n, 1);
    EXPECT_EQ(state.levels[2].count, 6);
}

TEST(LotBase, AsksForResultsAndForMeters)
{
    LotBase base { BaseSettings {} };
    for (int i = 0; i < 40; ++i)
        base.add(i % 2 == 0 ? "M1" : "M2", 100 + i % 2, {}, {});
    EXPECT_FALSE(base.value());
    base.add("M3", 130, {}, {});
    ASSERT_TRUE(base.value());
    EXPECT_DOUBLE_EQ(*base.value(), 101); // the middle one; their mean would be 110
    EXPECT_FALSE(base.isFrozen());
}

} // namespace
} // namespace mk::stats
