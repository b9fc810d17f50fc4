// SPDX-License-Identifier: GPL-3.0-or-later
// Where records contradict each other, the meter is not used until somebody has looked.
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

TEST(Doubt, AFallBetweenTheTwoLevelsIsNotClearedByThatSet)
{
    WardWorld ward;
    ward.runSet("set", "2026-05-04T07:00", "60", "300"); // low 07:00, high 07:02
    ward.goTo("2026-05-04T08:00");
    ward.incident(IncidentKind::Dropped, "2026-05-04T07:01");
    EXPECT_TRUE(ward.fitness("2026-05-04T07:00:30").reasons.empty() || !reason(ward.fitness("2026-05-04T07:00:30"), "dropped"));
    EXPECT_NE(reason(ward.fitness("2026-05-04T07:30"), "dropped"), nullptr) << "the low control was run before the fall";
    ward.step(ReturnStepKind::Inspected, "2026-05-04T08:05");
    EXPECT_NE(ward.refusalOf(acts::ReturnStep {
                  ward.at("2026-05-04T08:05"), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed, {} }),
        "");
    ward.runSet("after", "2026-05-04T08:10", "60", "300");
    ward.step(ReturnStepKind::Signed, "2026-05-04T08:15");
    EXPECT_EQ(reason(ward.fitness("2026-05-04T08:16"), "dropped"), nullptr);
    EXPECT_EQ(ward.fitness("2026-05-04T08:16").state, MeterState::InService);
}

TEST(Doubt, ACorrectionThatMakesASetRejectedHoldsAtOnce)
{
    WardWorld ward;
    ward.runSet("set", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T07:10");
    ward.record(acts::EntryCorrected {
        ward.at("2026-05-04T07:10"), base::OperatorId("N1"), base::SetId("set"), Level::Low, "result", "60", "78", "misread", {} });
    EXPECT_EQ(ward.fitness("2026-05-04T07:11").state, MeterState::OnHold) << "a stop waits for no second person";
    EXPECT_NE(reason(ward.fitness("2026-05-04T07:11"), "control-rejected"), nullptr);
}

TEST(Doubt, ALateFailureHoldsThoughANewerSetIsOnlyPartial)
{
    WardWorld ward;
    ward.runSet("good", "2026-05-04T07:00", "60", "300");
    ward.run("partial", "2026-05-04T09:00", Level::Low, "60");
    ward.goTo("2026-05-04T09:10");
    acts::ControlRun late = ward.aRun("late", Level::Low, "90");
    late.at = ward.at("2026-05-04T08:00");
    ward.record(late);
    EXPECT_EQ(ward.fitness("2026-05-04T09:11").state, MeterState::OnHold);
}

TEST(Doubt, AMissingMeterStaysMissingUntilItIsFound)
{
    WardWorld ward;
    ward.runSet("good", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T10:00");
    acts::MeterMoved gone { ward.at("2026-05-04T10:00"), base::MeterId("M1"), base::OperatorId("N1"), MeterState::Missing, {},
        "not in its place" };
    gone.lastSeen = "07:02, bay 3";
    ward.record(gone);
    ward.goTo("2026-05-04T11:00");
    ward.incident(IncidentKind::Wet, "2026-05-04T09:00");
    EXPECT_EQ(ward.fitness("2026-05-04T11:01").state, MeterState::Missing) << "a report of what was before does not find it";
    ward.goTo("2026-05-05T11:00");
    ward.incident(IncidentKind::Found, "2026-05-05T11:00");
    const Fitness found = ward.fitness("2026-05-05T11:01");
    EXPECT_EQ(found.state, MeterState::Withdrawn);
    EXPECT_NE(reason(found, "wet"), nullptr) << "and it is not forgotten";
}

TEST(Doubt, AConfirmedCorrectionOfOneLevelSaysNothingOfTheOther)
{
    WardWorld ward;
    ward.runSet("set", "2026-05-04T07:00", "78", "300");
    const auto correct = [&](const char* time, Level level, const char* before, const char* after, std::optional<base::OperatorId> second) {
        ward.goTo(time);
        ward.record(acts::EntryCorrected {
            ward.at(time), base::OperatorId("N1"), base::SetId("set"), level, "result", before, after, "transposed", second });
    };
    correct("2026-05-04T07:05", Level::Low, "78", "62", {});
    EXPECT_EQ(ward.fitness("2026-05-04T07:06").state, MeterState::OnHold) << "a second person must confirm it";
    correct("2026-05-04T07:10", Level::High, "300", "301", base::OperatorId("N2"));
    EXPECT_EQ(ward.fitness("2026-05-04T07:11").state, MeterState::OnHold) << "the low result still waits";
    correct("2026-05-04T07:15", Level::Low, "78", "61", base::OperatorId("N2"));
    EXPECT_EQ(ward.fitness("2026-05-04T07:16").state, MeterState::InService);
}

} // namespace mk::journeys
