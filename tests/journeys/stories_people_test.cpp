// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about the people who record: competency, trainees, closed accounts, two at one meter, one badge at two places.
#include "journeys/ward_world.h"

#include "store/read/people.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {

using namespace registry;

namespace {

struct Staff : WardWorld {
    Staff()
    {
        record(acts::WardAdded { base::WardId("W2"), "Ward two" });
        record(acts::OperatorEnrolled { base::OperatorId("T1"), "Trainee", Role::Nurse, {}, {} });
        record(acts::OperatorEnrolled { base::OperatorId("C2"), "Second coordinator", Role::Coordinator, {}, {} });
    }
    acts::CompetencyAssessed assessment(std::string_view time, const std::string& person, CompetencyStanding standing)
    {
        goTo(time);
        acts::CompetencyAssessed act { at(time), base::OperatorId("C1"), base::OperatorId(person), base::ModelId("K1"), standing };
        if (standing == CompetencyStanding::Competent)
            act.elements = "observed-testing recording review maintenance unknown-sample problem-solving";
        return act;
    }
    acts::OperatorChanged change(std::string_view time, const std::string& person)
    {
        goTo(time);
        return { at(time), base::OperatorId("C1"), base::OperatorId(person) };
    }
    Verdict setBy(const std::string& id, std::string_view time, const std::string& person, std::optional<std::string> supervisor = {})
    {
        SetRecord last;
        for (const Level level : { Level::Low, Level::High }) {
            goTo(time);
            Setting setting;
            setting.person = person;
            auto run = aRun(id, level, level == Level::Low ? "60" : "300", setting);
            if (supervisor)
                run.supervisor = base::OperatorId(*supervisor);
            last = record(run).set.value_or(SetRecord {});
        }
        return last.judged.verdict;
    }
    store::PersonLine lineOf(const std::string& person, std::string_view time)
    {
        auto from = reader();
        const auto lines = store::readPeople(from, at(time));
        EXPECT_TRUE(lines);
        const auto found = std::ranges::find(*lines, person, [](const store::PersonLine& line) { return line.person.act.id.value; });
        return found == lines->end() ? store::PersonLine {} : *found;
    }
};

} // namespace

TEST(People, ATraineeCountsOnlyWithACompetentSupervisorBeside)
{
    Staff ward;
    ward.record(ward.assessment("2026-05-02T08:00", "T1", CompetencyStanding::Training));
    EXPECT_EQ(ward.setBy("alone", "2026-05-04T07:00", "T1"), Verdict::Invalid);
    EXPECT_EQ(ward.set("alone").runs.front().judged.invalidBecause, std::vector<std::string> { "operator-not-competent" });
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable) << "recorded, and does not clear";
    EXPECT_EQ(ward.setBy("with a coordinator who is not competent", "2026-05-04T07:10", "T1", "C1"), Verdict::Invalid);
    ward.goTo("2026-05-04T07:20");
    Setting trainee;
    trainee.person = "T1";
    auto run = ward.aRun("self", Level::Low, "60", trainee);
    run.supervisor = base::OperatorId("T1");
    EXPECT_NE(ward.refusalOf(run).find("another person"), std::string::npos);
    EXPECT_EQ(ward.setBy("supervised", "2026-05-04T07:30", "T1", "N1"), Verdict::Accepted);
    EXPECT_TRUE(ward.fitness("2026-05-04T07:31").usable);
    EXPECT_EQ(ward.set("supervised").runs.front().run.supervisor, base::OperatorId("N1"));
}

TEST(People, AssessmentsOverrideTheDatesAndTheVerdictOfTheDayStays)
{
    Staff ward;
    EXPECT_EQ(ward.setBy("before", "2026-05-04T07:00", "N1"), Verdict::Accepted);
    ward.record(ward.assessment("2026-05-04T08:00", "N1", CompetencyStanding::Suspended));
    EXPECT_EQ(ward.setBy("suspended", "2026-05-05T07:00", "N1"), Verdict::Invalid);
    ward.record(ward.assessment("2026-05-05T08:00", "N1", CompetencyStanding::Competent));
    EXPECT_EQ(ward.setBy("again", "2026-05-06T07:00", "N1"), Verdict::Accepted);

    // Judged anew for another reason, each set keeps what was known of the person then.
    ward.goTo("2026-05-06T09:00");
    ward.record(acts::EntryCorrected { ward.at("2026-05-06T09:00"), base::OperatorId("N1"), base::SetId("before"), Level::Low, "result",
        "60", "61", "typed wrongly", {} });
    EXPECT_EQ(ward.set("before").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(ward.set("suspended").judged.verdict, Verdict::Invalid);
    EXPECT_EQ(ward.set("again").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(People, CompetencyRunsOutTwiceInTheFirstYear)
{
    Staff ward;
    ward.record(ward.assessment("2026-05-04T08:00", "T1", CompetencyStanding::Competent));
    const auto line = ward.lineOf("T1", "2026-05-04T09:00");
    ASSERT_EQ(line.models.size(), 1U);
    EXPECT_EQ(line.models.front().second.until, base::parseDate("2026-11-04").value());
    EXPECT_EQ(line.models.front().second.state, CompetencyState::Competent);
    EXPECT_TRUE(line.models.front().second.missingElements.empty());
    EXPECT_EQ(ward.lineOf("T1", "2026-10-05T09:00").models.front().second.state, CompetencyState::Due);
    EXPECT_EQ(ward.lineOf("T1", "2026-11-05T09:00").models.front().second.state, CompetencyState::Lapsed);
    EXPECT_EQ(ward.setBy("last day", "2026-07-04T07:00", "T1"), Verdict::Accepted);
    EXPECT_EQ(ward.lineOf("T1", "2026-11-05T09:00").lastControl, ward.at("2026-07-04T07:00"));
    EXPECT_FALSE(ward.lineOf("N2", "2026-11-05T09:00").lastControl) << "never ran a control: section 3 asks for rotation";
}

TEST(People, AClosedAccountsRunsAreKeptAndDoNotClear)
{
    Staff ward;
    auto closed = ward.change("2026-05-03T08:00", "N1");
    EXPECT_NE(ward.refusalOf(closed).find("nothing changes"), std::string::npos);
    closed.closed = YesNo::Yes;
    closed.by = base::OperatorId("N2");
    EXPECT_NE(ward.refusalOf(closed).find("coordinator"), std::string::npos);
    closed.by = base::OperatorId("C1");
    ward.record(closed);
    EXPECT_EQ(ward.setBy("after", "2026-05-04T07:00", "N1"), Verdict::Invalid);
    EXPECT_FALSE(ward.fitness("2026-05-04T07:05").usable);
    const auto line = ward.lineOf("N1", "2026-05-04T08:00");
    EXPECT_EQ(line.forAll.state, CompetencyState::Closed);
    EXPECT_EQ(line.person.act.name, "Nurse N1") << "the name stays";
    ward.goTo("2026-05-04T08:00");
    EXPECT_NE(ward.refusalOf(acts::MeterMoved { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId("N1"),
                                 MeterState::Withdrawn, {}, "odd" })
                  .find("closed"),
        std::string::npos);
    auto own = ward.change("2026-05-04T08:05", "C1");
    own.closed = YesNo::Yes;
    EXPECT_NE(ward.refusalOf(own).find("another coordinator"), std::string::npos);
}

TEST(People, AChangedRoleCountsAtOnce)
{
    Staff ward;
    auto promoted = ward.change("2026-05-04T08:00", "N2");
    promoted.role = Role::Coordinator;
    ward.record(promoted);
    acts::MeterDescribed file { ward.at("2026-05-04T08:00"), base::MeterId("M1"), base::OperatorId("N2") };
    file.maker = "Maker";
    EXPECT_EQ(ward.refusalOf(file), "");
}

TEST(People, AnAssessmentNeedsACoordinatorElementsAndSense)
{
    Staff ward;
    auto act = ward.assessment("2026-05-04T08:00", "T1", CompetencyStanding::Competent);
    const auto with = [&](auto&& change) {
        auto copy = act;
        change(copy);
        return ward.refusalOf(copy);
    };
    EXPECT_NE(with([](auto& a) { a.by = base::OperatorId("N1"); }).find("coordinator"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.person = base::OperatorId("C1"); }).find("assesses themselves"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.elements = "observed-testing juggling"; }).find("juggling"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.elements.reset(); }).find("--elements"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.model = base::ModelId("K7"); }).find("K7"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.until = base::parseDate("2026-05-03").value(); }).find("--until"), std::string::npos);
    EXPECT_NE(with([](auto& a) { a.person = base::OperatorId("X9"); }).find("X9"), std::string::npos);
    EXPECT_EQ(ward.entriesOf("operator.competency").size(), 0U);
    EXPECT_EQ(with([](auto&) {}), "");
}

TEST(Story, S08_TwoNursesAtOnceNothingIsMergedAndTheSecondIsTold)
{
    Staff ward;
    Setting first, second;
    second.person = "N2";
    ward.goTo("2026-05-04T07:00");
    const auto one = ward.record(ward.aRun("set of N1", Level::Low, "60", first));
    EXPECT_TRUE(one.told.empty());
    ward.goTo("2026-05-04T07:01");
    const auto two = ward.record(ward.aRun("set of N2", Level::Low, "61", second));
    ASSERT_EQ(two.told.size(), 1U);
    EXPECT_EQ(two.told.front(), "N1 recorded the low level of M1 at 07:00 in set set of N1, which is not complete.");
    ward.goTo("2026-05-04T07:03");
    const auto high = ward.record(ward.aRun("set of N2", Level::High, "300", second));
    EXPECT_EQ(high.set->judged.verdict, Verdict::Accepted) << "one set is completed";
    EXPECT_EQ(ward.set("set of N1").judged.verdict, Verdict::Partial);
    EXPECT_EQ(ward.set("set of N1").runs.front().run.by.value, "N1");
    EXPECT_EQ(ward.set("set of N2").runs.front().run.by.value, "N2");
    EXPECT_EQ(ward.entriesOf("control.run").size(), 3U) << "none is overwritten";
    EXPECT_TRUE(ward.fitness("2026-05-04T07:04").usable) << codes(ward.fitness("2026-05-04T07:04"));
    // Long after, nobody is told of it any more.
    ward.goTo("2026-05-04T12:00");
    EXPECT_TRUE(ward.record(ward.aRun("noon", Level::Low, "60", second)).told.empty());
}

TEST(Story, S08_InTheSameSetTheSecondLowIsAFurtherAttemptByItsOwnAuthor)
{
    Staff ward;
    Setting first, second;
    second.person = "N2";
    ward.goTo("2026-05-04T07:00");
    ward.record(ward.aRun("shared", Level::Low, "60", first));
    ward.goTo("2026-05-04T07:01");
    const auto two = ward.record(ward.aRun("shared", Level::Low, "61", second));
    ASSERT_EQ(two.told.size(), 1U);
    EXPECT_NE(two.told.front().find("in this set too"), std::string::npos);
    const SetRecord set = ward.set("shared");
    ASSERT_EQ(set.runs.size(), 2U);
    EXPECT_EQ(set.runs.front().run.by.value, "N1");
    EXPECT_EQ(set.runs.back().run.by.value, "N2");
    EXPECT_EQ(set.runs.back().judged.attempt, 2);
}

TEST(Story, S09_TheSameBadgeTwiceIsLoggedTwiceAndListed)
{
    Staff ward;
    ward.goTo("2026-05-04T07:00");
    ward.record(acts::ShiftBegun { ward.at("2026-05-04T07:00"), base::OperatorId("N1"), base::WardId("W1") });
    ward.goTo("2026-05-04T07:00:40");
    ward.record(acts::ShiftBegun { ward.at("2026-05-04T07:00:40"), base::OperatorId("N1"), base::WardId("W2") });
    ward.record(acts::ShiftBegun { ward.at("2026-05-04T07:00:40"), base::OperatorId("N2"), base::WardId("W2") });
    EXPECT_EQ(ward.entriesOf("session.begun").size(), 3U) << "both sessions are logged";
    auto reader = ward.reader();
    const auto signIns = store::readSignIns(reader, ward.at("2026-05-04T08:00"));
    ASSERT_TRUE(signIns);
    const auto clashes = clashesOf(*signIns, reader.policyAt(ward.at("2026-05-04T08:00")).sameBadgeMinutes);
    ASSERT_EQ(clashes.size(), 1U);
    EXPECT_EQ(clashes.front().first.ward.value, "W1");
    EXPECT_EQ(clashes.front().second.ward.value, "W2");
    EXPECT_EQ(clashes.front().second.person.value, "N1");
    EXPECT_NE(ward.refusalOf(acts::ShiftBegun { ward.at("2026-05-04T07:00:40"), base::OperatorId("N1"), base::WardId("W9") }), "");
}

} // namespace mk::journeys
