// SPDX-License-Identifier: GPL-3.0-or-later
// A new strip lot, a new strip vial, a new control vial (handbook 4.1, D2 to D4), a month that nobody signs (7.2), and a policy of another
// program's making.
#include "journeys/lot_hands.h"

#include "store/read/ward_duties.h"

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using namespace registry;

Ground groundAsking(const std::string& key, const std::string& text)
{
    Ground ground;
    ground.policy = { { key, text } };
    return ground;
}

void emptyVial(WardWorld& ward, const std::string& vial, std::string_view time)
{
    const base::Moment at = now(ward, time);
    ward.record(acts::VialEnded { at, vial, base::OperatorId("N1"), VialEndKind::Empty });
}

store::WardDuties duties(WardWorld& ward, std::string_view time)
{
    auto reader = ward.reader();
    const auto rows = store::board(reader, {}, ward.at(time));
    EXPECT_TRUE(rows) << rows.error().text;
    const auto found = store::wardDuties(reader, *rows, ward.at(time));
    EXPECT_TRUE(found) << found.error().text;
    return *found;
}

/// "V2 strip-vial-uncontrolled" of everything that waits.
std::string vialCodes(WardWorld& ward, std::string_view time)
{
    std::string codes;
    for (const auto& debt : duties(ward, time).vials)
        codes += (codes.empty() ? "" : ", ") + debt.vial + " " + std::string(word(debt.what));
    return codes;
}

/// M1 and M2 were controlled on V1 in the morning; V2 of the same lot is opened at 08:00 and V1 is empty at 08:05.
void openTheNextVial(WardWorld& ward)
{
    addMeterTo(ward, "M2", now(ward, "2026-05-04T06:00"));
    ward.runSet("m1", "2026-05-04T07:00", "60", "300");
    ward.runSet("m2", "2026-05-04T07:10", "60", "300", with("M2", "V1"));
    openVial(ward, "V2", "S1", now(ward, "2026-05-04T08:00"));
    emptyVial(ward, "V1", "2026-05-04T08:05");
}

/// Two meters controlled on S1; a vial of the released lot S2 is opened, and the last one of S1 is empty.
void changeTheLot(WardWorld& ward)
{
    ward.runSet("s1", "2026-05-04T07:00", "60", "300");
    bringInReleasedS2(ward, "2026-05-04T08:00");
    emptyVial(ward, "V1", "2026-05-04T08:05");
}

std::string usableAnd(const Fitness& fitness)
{
    return std::string(fitness.usable ? "yes [" : "no [") + codes(fitness) + "]";
}

} // namespace

TEST(Story, D3_TheMeterThatUsesANewVialFirstControlsItAndNoOtherIsDue)
{
    WardWorld ward;
    openTheNextVial(ward);
    EXPECT_EQ(vialCodes(ward, "2026-05-04T08:06"), "V2 strip-vial-uncontrolled");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:06")), "yes []");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:06", "M2")), "yes []");
    ward.runSet("first", "2026-05-04T09:00", "60", "300", with("M2", "V2"));
    EXPECT_EQ(vialCodes(ward, "2026-05-04T09:03"), "");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:03")), "yes []");
    EXPECT_EQ(vialCodes(ward, "2026-05-04T08:59"), "V2 strip-vial-uncontrolled") << "as it stood before";
}

TEST(Story, D3_WhereEveryMeterControlsANewVialEachIsStoppedUntilItHas)
{
    WardWorld ward(groundAsking("new_strip_vial", "every-meter"));
    openTheNextVial(ward);
    const Fitness before = ward.fitness("2026-05-04T08:01");
    EXPECT_EQ(usableAnd(before), "yes []") << "V1 is still open";
    EXPECT_EQ(before.next.size(), 1U) << "and V2 waits for a control on it";
    for (const char* meter : { "M1", "M2" }) {
        const Fitness fitness = ward.fitness("2026-05-04T08:06", meter);
        EXPECT_EQ(usableAnd(fitness), "no [new-strip-vial]") << meter;
        EXPECT_EQ(fitness.advice, Advice::Check);
        EXPECT_FALSE(fitness.next.empty());
    }
    ward.runSet("m2-v2", "2026-05-04T09:00", "60", "300", with("M2", "V2"));
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:03", "M2")), "yes []");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:03")), "no [new-strip-vial]") << "each meter for itself";
    ward.runSet("m1-v2", "2026-05-04T09:10", "60", "300", with("M1", "V2"));
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:13")), "yes []");
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, D3_WhereTheInsertDecidesANewVialOwesNothing)
{
    WardWorld ward(groundAsking("new_strip_vial", "insert"));
    openTheNextVial(ward);
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:06")), "yes []");
    EXPECT_EQ(vialCodes(ward, "2026-05-04T08:06"), "V2 strip-vial-insert") << "somebody looks it up";
}

TEST(Story, D2_AMeterIsControlledOnANewStripLotBeforePatientUse)
{
    WardWorld ward;
    changeTheLot(ward);
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:01")), "yes []") << "V1 of the old lot is still open";
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:06")), "no [new-strip-lot]");
    ward.runSet("on-s2", "2026-05-04T08:10", "60", "318", with("M1", "V2"));
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T08:13")), "yes []");
    openVial(ward, "V3", "S2", now(ward, "2026-05-04T09:00"));
    emptyVial(ward, "V2", "2026-05-04T09:05");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:06")), "yes []") << "the next vial of that lot is no new lot";
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-05T08:20")), "no [control-overdue]");
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, D2_AnOldLotThatComesBackIsNotNew)
{
    WardWorld ward;
    changeTheLot(ward);
    ward.runSet("on-s2", "2026-05-04T08:10", "60", "318", with("M1", "V2"));
    openVial(ward, "V4", "S1", now(ward, "2026-05-04T09:00"));
    emptyVial(ward, "V2", "2026-05-04T09:05");
    EXPECT_EQ(usableAnd(ward.fitness("2026-05-04T09:06")), "yes []") << "it was controlled on S1 in the morning";
}

TEST(Story, D2_WhereTheInsertDecidesANewLotIsSaidAndStopsNoMeter)
{
    WardWorld ward(groundAsking("new_strip_lot", "insert"));
    changeTheLot(ward);
    const Fitness fitness = ward.fitness("2026-05-04T08:06");
    EXPECT_EQ(usableAnd(fitness), "yes []");
    EXPECT_EQ(fitness.next.size(), 1U);
}

TEST(Story, D4_ANewControlVialIsRunBesideTheOldOneWhereTheWardAsksForIt)
{
    for (const bool beside : { false, true }) {
        WardWorld ward(groundAsking("new_control_vial", beside ? "beside" : "no-control"));
        ward.runSet("old", "2026-05-04T07:00", "60", "300");
        ward.record(acts::ControlVialOpened {
            base::ControlVialId("L2"), base::ControlLotId("CL"), now(ward, "2026-05-05T06:00"), base::WardId("W1") });
        EXPECT_EQ(vialCodes(ward, "2026-05-05T06:01"), beside ? "L2 control-vial-not-beside" : "");
        Setting newVial;
        newVial.low = "L2";
        ward.runSet("new", "2026-05-05T07:00", "60", "300", newVial);
        const Fitness alone = ward.fitness("2026-05-05T07:03");
        EXPECT_EQ(usableAnd(alone), "yes []") << "it is the vial's debt, not the meter's";
        EXPECT_TRUE(alone.next.empty());
        EXPECT_EQ(vialCodes(ward, "2026-05-05T07:03"), beside ? "L2 control-vial-not-beside" : "");
        addMeterTo(ward, "M2", now(ward, "2026-05-05T07:05"));
        ward.runSet("elsewhere", "2026-05-05T07:06", "60", "300", with("M2", "V1"));
        EXPECT_EQ(vialCodes(ward, "2026-05-05T07:09"), beside ? "L2 control-vial-not-beside" : "") << "on another meter is not beside";
        ward.runSet("beside", "2026-05-05T07:10", "61", "301");
        EXPECT_EQ(vialCodes(ward, "2026-05-05T07:09"), beside ? "L2 control-vial-not-beside" : "") << "as it stood before";
        EXPECT_EQ(vialCodes(ward, "2026-05-05T07:13"), "");
        ward.runSet("again", "2026-05-05T07:40", "60", "300", newVial);
        EXPECT_EQ(usableAnd(ward.fitness("2026-05-05T07:43")), "yes []") << "both ran on M1 within the time of a set";
        EXPECT_EQ(vialCodes(ward, "2026-05-05T07:43"), "");
    }
}

TEST(Story, AMonthThatNobodySignsIsLateFromItsDayOn)
{
    WardWorld ward;
    ward.runSet("a", "2026-05-04T07:00", "60", "300");
    const auto standing = [&](std::string_view time) {
        std::string all;
        for (const auto& month : duties(ward, time).months)
            all += toText(month.month) + " " + month.ward->value + " " + std::string(word(month.standing)) + ";";
        return all;
    };
    EXPECT_EQ(standing("2026-05-31T23:00"), "");
    EXPECT_EQ(standing("2026-06-10T23:59"), "2026-05 W1 waiting;");
    EXPECT_EQ(standing("2026-06-11T00:00"), "2026-05 W1 late;");
    EXPECT_EQ(standing("2026-07-05T00:00"), "2026-05 W1 late;2026-06 W1 waiting;");
    acts::ReviewSigned review;
    review.at = now(ward, "2026-06-12T09:00");
    review.by = base::OperatorId("C1");
    review.month = "2026-05";
    review.meaning = "reviewed month";
    EXPECT_EQ(recordBy(ward, "C1", review), "");
    EXPECT_EQ(standing("2026-07-05T00:00"), "2026-06 W1 waiting;");
}

TEST(Story, APolicyThatAnotherProgramWroteOpensAndItsUnknownKeysStay)
{
    auto session = store::Session::scratch();
    ASSERT_TRUE(session) << session.error().text;
    store::Founding founding;
    founding.documentAsGiven = true;
    const PolicyPairs newer { { "clearance_hours", "12" }, { "moon_phase", "full" } };
    const auto clock = [] { return std::int64_t { 1'780'000'000'000 }; };
    EXPECT_FALSE(store::found(**session, "Europe/Berlin", newer, { {}, "test" }, clock)) << "what is adopted here names what is known here";
    ASSERT_TRUE(store::found(**session, "Europe/Berlin", newer, { {}, "test" }, clock, founding));
    auto reader = store::Reader::open(**session);
    ASSERT_TRUE(reader) << reader.error().text;
    EXPECT_EQ(reader->policyAt(reader->zone().at(clock())).clearanceHours, 12);
    const auto versions = reader->facts<acts::PolicyChanged>();
    ASSERT_TRUE(versions);
    EXPECT_EQ(versions->front().act.settings, newer);
    EXPECT_EQ(unknownSettings(versions->front().act.settings).size(), 1U);
}

} // namespace mk::journeys
