// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about drift and lot changes; expectations from handbook 16 with 6.1 to 6.3 and 7.2.
#include "journeys/ward_world.h"

#include "store/read/read_month.h"

#include <gtest/gtest.h>

#include <cmath>

#include <cstdio>

namespace mk::journeys {
namespace {

using namespace registry;

std::string dayAt(const std::string& first, int days, const std::string& time)
{
    return base::toText(base::addDays(base::parseDate(first).value(), days)) + "T" + time;
}

/// The value that lies z SD from the mean, as a meter with decimals would show it.
std::string valueAt(double mean, double sd, double z)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.2f", mean + z * sd);
    return text;
}

bool hasFlag(const SetRecord& set, std::string_view flag)
{
    return std::ranges::find(set.judged.drift.flags, flag) != set.judged.drift.flags.end();
}

bool hasSetRule(const SetRecord& set, std::string_view rule)
{
    return std::ranges::find(set.judged.rules, rule) != set.judged.rules.end();
}

void addMeter(WardWorld& ward, const std::string& id)
{
    ward.record(acts::MeterEnrolled {
        base::MeterId(id), base::ModelId("K1"), "serial-" + id, base::WardId("W1"), ward.at("2026-05-01T05:00"), {} });
}

Setting withVial(const std::string& meter, const std::string& vial)
{
    Setting setting;
    setting.meter = meter;
    setting.strip = vial;
    return setting;
}

/// S2 released with ranges only, one vial of it open.
void bringInS2(WardWorld& ward, std::string_view time)
{
    ward.goTo(time);
    const base::Moment now = ward.at(time);
    const auto mg = base::GlucoseUnit::MgPerDl;
    ward.record(acts::StripLotReceived { base::StripLotId("S2"), base::ModelId("K1"), {}, {}, base::parsePrintedDate("2030-12-31").value(),
        base::parsePeriod("90 d").value(), now, now });
    ward.record(acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S2"), now, base::WardId("W1") });
    ward.record(acts::RangeAssigned {
        base::StripLotId("S2"), base::ControlLotId("CL"), Level::Low, mg, decimal("48"), decimal("72"), {}, {}, Stage::Range, now });
    ward.record(acts::RangeAssigned {
        base::StripLotId("S2"), base::ControlLotId("CH"), Level::High, mg, decimal("270"), decimal("366"), {}, {}, Stage::Range, now });
}

void establishS2(WardWorld& ward, std::string_view time)
{
    ward.goTo(time);
    const base::Moment now = ward.at(time);
    const auto mg = base::GlucoseUnit::MgPerDl;
    ward.record(acts::RangeAssigned { base::StripLotId("S2"), base::ControlLotId("CL"), Level::Low, mg, decimal("48"), decimal("72"),
        decimal("60"), decimal("3"), Stage::Established, now });
    ward.record(acts::RangeAssigned { base::StripLotId("S2"), base::ControlLotId("CH"), Level::High, mg, decimal("270"), decimal("366"),
        decimal("318"), decimal("9"), Stage::Established, now });
}

// Handbook 6.3, vector K: z of level 1 / level 2 per set.
constexpr double kVectorK[15][2] = { { -.3, .2 }, { .4, -.5 }, { -.2, .5 }, { .6, .1 }, { .2, .7 }, { .7, -.1 }, { .5, .9 }, { .9, .6 },
    { .8, 1.1 }, { 1.2, .5 }, { .9, 1.3 }, { 1.3, .9 }, { 1.1, 1.4 }, { 1.5, .95 }, { 1.3, 1.6 } };

} // namespace

TEST(Story, S19_SlowDrift)
{
    WardWorld ward(olderGround());
    std::vector<SetRecord> days(1);
    for (int i = 0; i < 15; ++i)
        days.push_back(ward.runSet("day" + std::to_string(i + 1), dayAt("2026-05-04", i, "07:00"), valueAt(60, 3, kVectorK[i][0]),
            valueAt(300, 9, kVectorK[i][1])));

    for (std::size_t day = 1; day <= 10; ++day) {
        EXPECT_EQ(days[day].judged.verdict, Verdict::Accepted) << day;
        EXPECT_TRUE(days[day].judged.rules.empty()) << day;
        EXPECT_TRUE(days[day].judged.drift.flags.empty()) << day;
    }
    for (std::size_t day = 11; day <= 15; ++day) {
        EXPECT_EQ(days[day].judged.verdict, Verdict::Warned) << day << ": never beyond the warning level";
        EXPECT_FALSE(hasSetRule(days[day], "1-2s")) << day;
    }
    EXPECT_EQ(days[11].judged.rules, std::vector<std::string> { "10x" });
    EXPECT_FALSE(hasFlag(days[11], "EWMA"));
    EXPECT_FALSE(hasFlag(days[11], "CUSUM"));
    EXPECT_TRUE(hasFlag(days[12], "EWMA"));
    EXPECT_TRUE(hasFlag(days[12], "CUSUM"));
    EXPECT_FALSE(hasSetRule(days[14], "4-1s"));
    EXPECT_TRUE(hasSetRule(days[15], "4-1s"));

    // The first run of the sequence: 10x across reads sets 7 to 11, since set 6 has one result below its mean.
    EXPECT_EQ(days[11].judged.drift.began, days[7].judged.lastAt);
    const Fitness eleven = ward.fitness("2026-05-14T08:00");
    EXPECT_TRUE(eleven.usable);
    ASSERT_NE(reason(eleven, "drift"), nullptr);
    EXPECT_FALSE(reason(eleven, "drift")->blocks) << "about 1 SD is less than half the comparison limit";
    EXPECT_EQ(eleven.advice, Advice::Check);
    EXPECT_EQ(reason(ward.fitness("2026-05-13T08:00"), "drift"), nullptr);
}

TEST(Story, S19_ADriftBeyondHalfTheComparisonLimitBlocks)
{
    // Handbook 13: 6 mg/dL below 75, else 6 %. Low at +2 SD is 6 mg/dL (not beyond), at +1 SD high 3 %: allowed; a wide SD shows the edge.
    WardWorld ward(olderGround());
    ward.goTo("2026-05-02T05:00");
    ward.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, base::GlucoseUnit::MgPerDl,
        decimal("40"), decimal("80"), decimal("60"), decimal("7"), Stage::Established, ward.at("2026-05-02T05:00") });
    SetRecord last;
    for (int i = 0; i < 10; ++i)
        last = ward.runSet(
            "day" + std::to_string(i), dayAt("2026-05-04", i, "07:00"), "67", "300"); // z 1 is not beyond 1 SD; ten on one side
    EXPECT_TRUE(hasFlag(last, "10x"));
    ASSERT_FALSE(last.judged.drift.bias.empty());
    EXPECT_DOUBLE_EQ(last.judged.drift.bias.front().bias, 7.0);
    EXPECT_TRUE(last.judged.drift.beyondHalfLimit);
    const Fitness fitness = ward.fitness("2026-05-13T08:00");
    EXPECT_FALSE(fitness.usable);
    EXPECT_EQ(fitness.advice, Advice::Withdraw);
    ASSERT_NE(reason(fitness, "drift"), nullptr);
    EXPECT_TRUE(reason(fitness, "drift")->blocks);
}

TEST(Story, S20_LotChangeIsNotDrift)
{
    WardWorld ward(olderGround());
    std::vector<std::string> meters { "M1" };
    for (int i = 2; i <= 8; ++i) {
        meters.push_back("M" + std::to_string(i));
        addMeter(ward, meters.back());
    }
    // Two mornings on S1, in control.
    for (int day = 0; day < 2; ++day)
        for (std::size_t i = 0; i < meters.size(); ++i)
            ward.runSet(meters[i] + "/" + std::to_string(day), dayAt("2026-05-04", day, "07:" + std::to_string(10 + i * 3)), "60", "300",
                withVial(meters[i], "V1"));
    bringInS2(ward, "2026-05-06T05:00");
    for (int day = 2; day < 4; ++day)
        for (std::size_t i = 0; i < meters.size(); ++i) {
            // Under S1's targets 319 and more is beyond +2 SD: 2-2s would fire on the second morning.
            const SetRecord set = ward.runSet(meters[i] + "/" + std::to_string(day),
                dayAt("2026-05-04", day, "07:" + std::to_string(10 + i * 3)), "60", std::to_string(316 + i % 6), withVial(meters[i], "V2"));
            EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << meters[i];
            EXPECT_TRUE(set.judged.rules.empty()) << meters[i];
            EXPECT_TRUE(set.judged.drift.flags.empty()) << meters[i];
            for (const auto& run : set.judged.runs) {
                EXPECT_FALSE(run.evaluable) << "no targets yet: not evaluable, never passed";
                EXPECT_EQ(run.inRange, true);
            }
        }
    auto reader = ward.reader();
    const auto month = store::readMonth(reader, {}, { 2026, 5 }, ward.at("2026-05-08T00:00"));
    ASSERT_TRUE(month) << month.error().text;
    // One step of all meters at the lot mark: each lot is a group of its own with all eight meters.
    for (const auto& group : month->figures.groups) {
        EXPECT_EQ(group.meters, 8U);
        if (group.level == Level::High && group.stripLot == base::StripLotId("S2")) {
            EXPECT_DOUBLE_EQ(group.mean.value_or(0), 318.0);
        }
        if (group.level == Level::High && group.stripLot == base::StripLotId("S1")) {
            EXPECT_DOUBLE_EQ(group.mean.value_or(0), 300.0);
        }
    }
    EXPECT_EQ(month->figures.groups.size(), 4U);
}

TEST(Story, S20_RulesResumeWhenTheTargetsAreSigned)
{
    WardWorld ward(olderGround());
    ward.runSet("on-s1", "2026-05-05T07:00", "60", "300");
    bringInS2(ward, "2026-05-06T05:00");
    for (int day = 0; day < 20; ++day)
        ward.runSet("rangeonly" + std::to_string(day), dayAt("2026-05-06", day, "07:00"), "60", "318", withVial("M1", "V2"));
    establishS2(ward, "2026-05-26T05:00");
    const SetRecord good = ward.runSet("resumed", "2026-05-26T07:00", "60", "318", withVial("M1", "V2"));
    EXPECT_TRUE(good.judged.runs.back().evaluable);
    EXPECT_TRUE(good.judged.segmentStart) << "the target set changed; the counts begin again";
    const SetRecord beyond = ward.runSet("beyond", "2026-05-27T07:00", "60", "346", withVial("M1", "V2"));
    EXPECT_EQ(beyond.judged.runs.back().inRange, true);
    EXPECT_TRUE(hasSetRule(beyond, "1-3s")) << "346 is 3.1 SD above 318";
    EXPECT_EQ(beyond.judged.verdict, Verdict::Rejected);
    EXPECT_FALSE(ward.set("rangeonly19").judged.runs.back().evaluable) << "new limits never rewrite old verdicts";
}

TEST(Story, S21_DriftHiddenByLotChange)
{
    // Six meters; M3 reads 2 SD (18 mg/dL) above the others on S1 and again on S2. Its own counts restart at the boundary, the group view
    // does not.
    WardWorld ward;
    std::vector<std::string> meters { "M1" };
    for (int i = 2; i <= 6; ++i) {
        meters.push_back("M" + std::to_string(i));
        addMeter(ward, meters.back());
    }
    const auto morning = [&](int day, const std::string& vial, int high) {
        const int scatter[] = { -9, 0, 9 };
        for (std::size_t i = 0; i < meters.size(); ++i)
            ward.runSet(meters[i] + "/" + std::to_string(day), dayAt("2026-05-04", day, "07:" + std::to_string(10 + i * 3)), "60",
                std::to_string(meters[i] == "M3" ? high + 18 : high + scatter[(static_cast<std::size_t>(day) + i) % 3]),
                withVial(meters[i], vial));
    };
    for (int day = 0; day < 5; ++day)
        morning(day, "V1", 300);
    bringInS2(ward, "2026-05-09T05:00");
    for (int day = 5; day < 10; ++day)
        morning(day, "V2", 318);
    auto reader = ward.reader();
    const auto month = store::readMonth(reader, {}, { 2026, 5 }, ward.at("2026-05-15T00:00"));
    ASSERT_TRUE(month) << month.error().text;
    int lots = 0;
    for (const auto& meter : month->figures.meters)
        for (const auto& level : meter.levels) {
            if (level.level != Level::High)
                continue;
            ASSERT_TRUE(level.sdi) << meter.meter.value;
            if (meter.meter == base::MeterId("M3")) {
                // The others scatter by 7 to 8 mg/dL, so 18 mg/dL above them is beyond the action mark.
                EXPECT_GT(*level.sdi, 2.0) << level.stripLot.value;
                ++lots;
            } else {
                EXPECT_LT(std::abs(*level.sdi), 1.5) << meter.meter.value;
            }
        }
    EXPECT_EQ(lots, 2) << "on both lots";
}

TEST(Story, S22_OneBadMeterInASmallGroup)
{
    // Five meters, four around 300 by 9 either way, M5 at 330: left out of its own group it stands 30 above it, some 3.3 SD.
    WardWorld ward;
    std::vector<std::string> meters { "M1", "M2", "M3", "M4", "M5" };
    for (std::size_t i = 1; i < meters.size(); ++i)
        addMeter(ward, meters[i]);
    for (int day = 0; day < 10; ++day)
        for (std::size_t i = 0; i < meters.size(); ++i) {
            const std::string set = meters[i] + "/" + std::to_string(day);
            ward.run(set, dayAt("2026-05-04", day, "07:" + std::to_string(10 + i * 3)), Level::Low, "60", withVial(meters[i], "V1"));
            auto high = ward.aRun(set, Level::High,
                meters[i] == "M5"                                  ? "330"
                    : (static_cast<std::size_t>(day) + i) % 2 == 0 ? "291"
                                                                   : "309",
                withVial(meters[i], "V1"));
            if (meters[i] == "M5")
                high.deviation = "run beside the others while it is on hold";
            ward.record(high);
        }
    auto reader = ward.reader();
    const auto month = store::readMonth(reader, {}, { 2026, 5 }, ward.at("2026-05-20T00:00"));
    ASSERT_TRUE(month) << month.error().text;
    int judged = 0;
    for (const auto& meter : month->figures.meters)
        for (const auto& level : meter.levels) {
            if (level.level != Level::High)
                continue;
            ASSERT_TRUE(level.sdi) << meter.meter.value;
            if (meter.meter == base::MeterId("M5"))
                EXPECT_NEAR(*level.sdi, 30 / (9 * std::sqrt(40.0 / 39)), 1e-9); // 3.29: 40 results of the others, SD with n - 1
            else
                EXPECT_LT(std::abs(*level.sdi), 1.0) << meter.meter.value;
            ++judged;
        }
    EXPECT_EQ(judged, 5);
}

} // namespace mk::journeys
