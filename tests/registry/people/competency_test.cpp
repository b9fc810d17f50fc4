// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 3 and 10.3: until when an assessment holds, and what speaks for a person at a moment.
#include "registry/people/competency.h"
#include "registry/people/sign_ins.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;
using State = CompetencyState;

base::Date day(const char* text)
{
    return base::parseDate(text).value();
}

struct Person {
    OperatorRecord record { { 1 }, { base::OperatorId("N1"), "Nurse one", Role::Nurse, {}, {} } };
    PersonFacts facts;

    void assess(std::int64_t seq, const char* when, CompetencyStanding standing, std::optional<std::string> model = {},
        std::optional<base::Date> until = {})
    {
        facts.assessments.push_back({ { seq },
            { at(when), base::OperatorId("C1"), base::OperatorId("N1"), model ? std::optional(base::ModelId(*model)) : std::nullopt,
                standing, until, "observed-testing recording", {} } });
    }
    Competency on(const char* when, const char* model = "K1", std::int64_t knownBefore = 1000) const
    {
        return competencyOf(record, facts, base::ModelId(model), at(when), { knownBefore }, defaultPolicy(), sample::berlin());
    }
};

} // namespace

TEST(CompetencyEnd, TwiceInTheFirstYearThenYearly)
{
    const Policy policy = defaultPolicy();
    EXPECT_EQ(competencyEnd(day("2026-05-01"), day("2026-05-01"), policy), day("2026-11-01"));
    EXPECT_EQ(competencyEnd(day("2026-11-01"), day("2026-05-01"), policy), day("2027-05-01"));
    EXPECT_EQ(competencyEnd(day("2027-04-30"), day("2026-05-01"), policy), day("2027-10-30"));
    EXPECT_EQ(competencyEnd(day("2027-05-01"), day("2026-05-01"), policy), day("2028-05-01"));
}

TEST(CompetencyEnd, AYearFromTheLeapDayIsClamped)
{
    EXPECT_EQ(competencyEnd(day("2028-02-29"), day("2026-01-01"), defaultPolicy()), day("2029-02-28")); // handbook 10.3
}

TEST(Competency, WithoutAssessmentTheDatesOfTheEnrolmentSpeak)
{
    Person person;
    EXPECT_EQ(person.on("2026-05-04T08:00").state, State::Unknown);
    person.record.act.competentFrom = day("2026-01-01");
    person.record.act.competentUntil = day("2026-12-31");
    EXPECT_EQ(person.on("2025-12-31T08:00").state, State::Unknown);
    EXPECT_EQ(person.on("2026-05-04T08:00").state, State::Competent);
    EXPECT_EQ(person.on("2026-11-30T23:00").state, State::Competent);
    EXPECT_EQ(person.on("2026-12-01T00:00").state, State::Due) << "thirty days before";
    EXPECT_EQ(person.on("2026-12-31T23:59").state, State::Due);
    EXPECT_TRUE(person.on("2026-12-31T23:59").holds());
    EXPECT_EQ(person.on("2027-01-01T00:00").state, State::Lapsed);
    EXPECT_FALSE(person.on("2027-01-01T00:00").holds());
}

TEST(Competency, TheNewestAssessmentForTheModelOrForAllSpeaks)
{
    Person person;
    person.record.act.competentFrom = day("2020-01-01");
    person.record.act.competentUntil = day("2030-12-31");
    person.assess(10, "2026-05-01T08:00", CompetencyStanding::Suspended, "K1");
    EXPECT_EQ(person.on("2026-04-30T08:00").state, State::Competent);
    EXPECT_EQ(person.on("2026-05-04T08:00").state, State::Suspended);
    EXPECT_EQ(person.on("2026-05-04T08:00", "K2").state, State::Competent) << "another model is another competency";
    person.assess(11, "2026-06-01T08:00", CompetencyStanding::Competent);
    const Competency again = person.on("2026-06-02T08:00");
    EXPECT_EQ(again.state, State::Competent);
    EXPECT_EQ(again.evidence, base::Seq { 11 });
    EXPECT_EQ(again.until, day("2027-06-01")) << "not in the first year: competent since 2020";
    EXPECT_EQ(again.missingElements.size(), 4U);
    person.assess(12, "2026-07-01T08:00", CompetencyStanding::Competent, "K1", day("2026-08-01"));
    EXPECT_EQ(person.on("2026-07-02T08:00").until, day("2026-08-01"));
    EXPECT_EQ(person.on("2026-08-02T08:00").state, State::Lapsed);
}

TEST(Competency, WhatIsRecordedAfterARunChangesNothingForIt)
{
    Person person;
    person.assess(50, "2026-05-01T08:00", CompetencyStanding::Competent);
    EXPECT_FALSE(person.on("2026-05-04T08:00", "K1", 50).holds()) << "the run was entry 50 or earlier";
    EXPECT_TRUE(person.on("2026-05-04T08:00", "K1", 51).holds());
}

TEST(Competency, AClosedAccountHoldsNothingFromThenOn)
{
    Person person;
    person.assess(10, "2026-05-01T08:00", CompetencyStanding::Competent);
    acts::OperatorChanged closed { at("2026-05-03T08:00"), base::OperatorId("C1"), base::OperatorId("N1") };
    closed.closed = YesNo::Yes;
    person.facts.changes.push_back({ { 11 }, closed });
    EXPECT_TRUE(person.on("2026-05-03T07:59").holds());
    EXPECT_EQ(person.on("2026-05-03T08:00").state, State::Closed);
    EXPECT_EQ(withChanges(person.record, person.facts).act.name, "Nurse one") << "the name stays";
}

TEST(Competency, ElementsAreSixKnownWords)
{
    EXPECT_EQ(readElements("observed-testing recording review maintenance unknown-sample problem-solving")->size(), 6U);
    EXPECT_TRUE(readElements("")->empty());
    EXPECT_NE(readElements("observed-testing dancing").error().text.find("dancing"), std::string::npos);
    EXPECT_FALSE(readElements("review review"));
}

TEST(SignIns, OneIdOnTwoWardsSoonAfterEachOtherClashes)
{
    const auto signIn = [](std::int64_t seq, const char* who, const char* ward, const char* when, bool begins = true) {
        return SignIn { { seq }, base::OperatorId(who), base::WardId(ward), "desk-" + std::string(ward), at(when), begins };
    };
    const SignIn onA = signIn(1, "N1", "A", "2026-05-04T07:00:00"), onB = signIn(2, "N1", "B", "2026-05-04T07:00:40");
    const auto found = clashesOf(std::vector { onA, onB }, 10);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found.front().first.seq, base::Seq { 1 });
    EXPECT_EQ(found.front().second.seq, base::Seq { 2 });
    EXPECT_TRUE(clashesOf(std::vector { onA, signIn(2, "N2", "B", "2026-05-04T07:00:40") }, 10).empty()) << "another person";
    EXPECT_TRUE(clashesOf(std::vector { onA, signIn(2, "N1", "A", "2026-05-04T07:00:40") }, 10).empty()) << "the same place";
    EXPECT_TRUE(clashesOf(std::vector { onA, signIn(2, "N1", "B", "2026-05-04T07:10:01") }, 10).empty()) << "too long after";
    EXPECT_TRUE(
        clashesOf(std::vector { onA, signIn(2, "N1", "A", "2026-05-04T07:00:20", false), signIn(3, "N1", "B", "2026-05-04T07:00:40") }, 10)
            .empty())
        << "signed off before";
}

} // namespace mk::registry
