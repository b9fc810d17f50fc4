// SPDX-License-Identifier: GPL-3.0-or-later
// A meter against its own usual value, at the desk: what a set is judged on, what ends a telling, what is the lot's (handbook 6.5).
#include "registry/desk/desk_ward.h"

#include "registry/control/usual_drift.h"
#include "registry/lots/lot_items.h"

#include <cmath>

namespace mk::registry {
namespace {

using sample::DeskWard;

/// Four meters, controlled daily, that know themselves after eight controls; results wobble a little and alike from meter to meter.
class UsualWard {
public:
    UsualWard()
    {
        ward.facts.policy.rules.clear(); // no ladder beside it
        ward.facts.policy.usual.learned = 8;
        ward.facts.policy.groupMeters = 4;
        for (int i = 3; i <= 4; ++i)
            ward.facts.put(acts::MeterEnrolled { base::MeterId("M" + std::to_string(i)), base::ModelId("K1"), "SN-M" + std::to_string(i),
                base::WardId("W1"), ward.facts.now, {} });
    }

    /// percent  by which M1 is off that day; all: by which every meter is
    void run(int day, double percent = 0, double all = 0)
    {
        for (int i = 1; i <= 4; ++i)
            runOne(i, day, (i == 1 ? percent : 0) + all);
    }

    SetRecord runOne(int meter, int day, double percent, int minute = 0)
    {
        const std::string text = base::toText(base::addDays(base::parseDate("2026-05-05").value(), day));
        char time[16];
        std::snprintf(time, sizeof time, "T07:%02d", meter * 5 + minute);
        if (ward.facts.now < sample::at(text + time))
            ward.goTo(text + time);
        const double wobble = (meter + day) % 3 - 1;
        const std::string set = "M" + std::to_string(meter) + "/" + std::to_string(day) + "/" + std::to_string(minute);
        auto low = ward.run(set, Level::Low, shown(60 * (1 + percent / 100) + wobble));
        auto high = ward.run(set, Level::High, shown(300 * (1 + percent / 100) + 3 * wobble));
        for (auto* each : { &low, &high }) {
            each->meter = base::MeterId("M" + std::to_string(meter));
            each->at = sample::at(text + time);
        }
        const base::Done done = ward.tryBatch({ low, high });
        EXPECT_TRUE(done) << (done ? "" : base::plainly(done.error()));
        return *ward.facts.set(base::SetId(set)).value();
    }

    std::size_t lotItems(std::string_view type) const
    {
        std::size_t n = 0;
        for (const auto& each : ward.facts.all<acts::NcOpened>())
            n += each.act.type == type ? 1U : 0U;
        return n;
    }

    mutable DeskWard ward;

private:
    static std::string shown(double value) { return std::to_string(static_cast<int>(std::lround(value))); }
};

const acts::UsualFinding& usualOf(const SetRecord& set)
{
    return *set.judged.drift.usual;
}

} // namespace

TEST(UsualValue, IsJudgedOnTheBaseOfItsLotsFromTwentyResultsOn)
{
    UsualWard ward;
    for (int day = 0; day < 4; ++day)
        ward.run(day);
    for (int meter = 1; meter < 4; ++meter)
        EXPECT_FALSE(usualOf(ward.runOne(meter, 4, 0)).score);
    EXPECT_FALSE(usualOf(ward.runOne(4, 4, 0)).score) << "nineteen results of a level before it";
    const SetRecord set = ward.runOne(1, 5, 0);
    EXPECT_TRUE(usualOf(set).score) << "twenty by now";
    EXPECT_NEAR(*set.judged.runs[1].base, 300, 3);
    EXPECT_TRUE(set.judged.runs[0].u);
}

TEST(UsualValue, ALateSetIsJudgedOnTheBaseAndTheOthersOfItsOwnTime)
{
    UsualWard ward;
    for (int day = 0; day < 16; ++day)
        ward.run(day);
    const SetRecord late = ward.runOne(1, 15, 0, -3); // before this morning's, entered after all others
    ASSERT_TRUE(usualOf(late).score) << "the base was frozen by then";
    EXPECT_NEAR(*late.judged.runs[0].base, 60, 1);
    EXPECT_GE(usualOf(late).levels.front().others.value_or(0), 3);
}

TEST(UsualValue, AStepIsToldOfAndStopsAndOthersAreLeftAlone)
{
    UsualWard ward;
    for (int day = 0; day < 14; ++day)
        ward.run(day);
    for (int day = 14; day < 24; ++day)
        ward.run(day, 9);
    const SetRecord moved = ward.runOne(1, 24, 9);
    EXPECT_EQ(usualOf(moved).told, "high");
    EXPECT_EQ(usualOf(moved).stops, "meter");
    EXPECT_FALSE(usualOf(moved).lot);
    EXPECT_TRUE(moved.judged.drift.drifts());
    EXPECT_FALSE(usualOf(ward.runOne(2, 24, 0)).told);
    EXPECT_EQ(ward.lotItems(kLotMovedType), 0U);
}

TEST(UsualValue, WhatMovesAllIsOneItemOfTheLot)
{
    UsualWard ward;
    for (int day = 0; day < 14; ++day)
        ward.run(day);
    for (int day = 14; day < 24; ++day)
        ward.run(day, 0, 5);
    EXPECT_EQ(ward.lotItems(kLotMovedType), 1U);
    acts::NcStep closed;
    closed.at = ward.ward.facts.now;
    closed.by = base::OperatorId("C1");
    closed.entry = ward.ward.facts.all<acts::NcOpened>().front().seq;
    closed.to = NcState::Closed;
    closed.text = "no nonconformity: the vial was replaced";
    ward.ward.record(closed);
    const SetRecord other = ward.runOne(2, 24, 5);
    EXPECT_EQ(ward.lotItems(kLotMovedType), 1U) << "the same move is not opened again once it is closed";
    EXPECT_EQ(usualOf(other).told, "high");
    EXPECT_TRUE(usualOf(other).lot);
    EXPECT_FALSE(other.judged.drift.drifts()) << "a move of the lot is not the meter's";
}

TEST(UsualValue, IsTakenAsItStandsOnAPassedComparisonOnly)
{
    UsualWard ward;
    for (int day = 0; day < 14; ++day)
        ward.run(day);
    acts::TakenAsItStands taken { ward.ward.facts.now, base::MeterId("M1"), base::OperatorId("C1"), "the laboratory agrees" };
    EXPECT_EQ(ward.ward.codeOf(taken), "nothing-to-take-as-it-stands");
    for (int day = 14; day < 20; ++day)
        ward.run(day, 5);
    taken.at = ward.ward.facts.now;
    EXPECT_EQ(ward.ward.codeOf(taken), "not-compared-since-it-moved");
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId("P1");
    pair.meter = base::MeterId("M1");
    pair.meterAt = pair.labAt = ward.ward.facts.now;
    pair.by = base::OperatorId("N1");
    pair.stripVial = base::StripVialId("V1");
    pair.sampleType = "venous";
    pair.meterResult = parseReading("100").value();
    pair.labResult = parseReading("99").value();
    pair.unit = base::GlucoseUnit::MgPerDl;
    ward.ward.record(pair);
    ward.ward.goTo("2026-05-24T12:00");
    taken.at = ward.ward.facts.now;
    ward.ward.record(taken);
    const SetRecord next = ward.runOne(1, 20, 5);
    EXPECT_FALSE(usualOf(next).told);
    EXPECT_EQ(usualOf(next).levels.front().learned, 0) << "learned anew, from where it reads now";
    EXPECT_GT(*usualOf(next).levels.back().usual, 3);
}

TEST(UsualValue, BeginsAnewAfterNewSoftware)
{
    UsualWard ward;
    for (int day = 0; day < 14; ++day)
        ward.run(day, 4);
    EXPECT_EQ(usualOf(ward.runOne(1, 14, 4)).levels.front().n, 8);
    ward.ward.goTo("2026-05-19T12:00");
    acts::IncidentReported incident;
    incident.at = ward.ward.facts.now;
    incident.meter = base::MeterId("M1");
    incident.by = base::OperatorId("N1");
    incident.what = IncidentKind::SoftwareUpdated;
    ward.ward.record(incident);
    const SetRecord next = ward.runOne(1, 15, 4);
    EXPECT_EQ(usualOf(next).levels.front().learned, 0);
    EXPECT_EQ(*usualOf(next).levels.front().usual, 0) << "the group is the measure";
}

} // namespace mk::registry
