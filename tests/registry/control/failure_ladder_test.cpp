// SPDX-License-Identifier: GPL-3.0-or-later
// Handbook 4.6: which step a run is, what comes next, what an ending means.
#include "registry/control/failure_ladder.h"
#include "registry/control/failure_patterns.h"
#include "registry/meter/lookback.h"
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

struct Try {
    Level level;
    const char* strip;
    const char* control;
    const char* result; ///< "bad", "good", or an error code
};

/// Sets of one try each, a minute apart; the last may be the accepted set.
class Climb {
public:
    Climb& then(const Try& t, Verdict setVerdict, bool shift = false, const std::string& set = {})
    {
        SetRecord record;
        record.seq = { ++m_seq };
        record.judged.set = base::SetId(set.empty() ? "set-" + std::to_string(m_seq) : set);
        record.judged.verdict = setVerdict;
        record.judged.shift = shift;
        RunRecord run;
        run.seq = { ++m_seq };
        run.run.set = record.judged.set;
        run.run.at = base::plusMs(sample::at("2026-05-04T07:00"), m_seq * 60'000);
        run.run.level = t.level;
        run.run.stripVial = base::StripVialId(t.strip);
        run.run.controlVial = base::ControlVialId(t.control);
        const std::string result = t.result;
        run.run.result = parseReading(result == "bad" ? "78" : result == "good" ? "60" : result).value();
        run.judged.valid = true;
        run.judged.mean = sample::decimal("60");
        run.judged.verdict = result == "bad" ? Verdict::Rejected : result == "good" ? Verdict::Accepted : Verdict::Partial;
        record.judged.firstAt = record.judged.lastAt = run.run.at;
        record.runs.push_back(run);
        sets.push_back(record);
        return *this;
    }
    Climb& bad(const char* strip, const char* control, Level level = Level::Low)
    {
        return then({ level, strip, control, "bad" }, Verdict::Rejected);
    }
    Climb& good(const char* strip, const char* control, Level level = Level::Low)
    {
        return then({ level, strip, control, "good" }, Verdict::Accepted);
    }
    Ladder ladder() const { return climb(sets, {}); }

    std::vector<SetRecord> sets;

private:
    std::int64_t m_seq = 0;
};

acts::ControlRun nextRun(const char* strip, const char* control, const std::string& set = "next")
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.level = Level::Low;
    run.stripVial = base::StripVialId(strip);
    run.controlVial = base::ControlVialId(control);
    run.result = parseReading("60").value();
    return run;
}

} // namespace

TEST(FailureLadder, NothingFailedIsNoLadder)
{
    EXPECT_EQ(climb({}, {}).step, 0);
    const Ladder ladder = Climb().good("V1", "L1").ladder();
    EXPECT_EQ(ladder.step, 0);
    EXPECT_FALSE(ladder.ending);
    EXPECT_FALSE(ladder.firstFailure);
}

TEST(FailureLadder, EachFailureLeadsToTheNextStep)
{
    Climb c;
    EXPECT_EQ(c.bad("V1", "L1").ladder().step, 1);
    EXPECT_EQ(c.bad("V1", "L1").ladder().step, 3);
    EXPECT_EQ(c.bad("V1", "L2").ladder().step, 4);
    EXPECT_FALSE(c.ladder().exhaustedBy);
    const Ladder last = c.bad("V2", "L2").ladder();
    EXPECT_EQ(last.step, 5);
    EXPECT_TRUE(last.exhaustedBy);
    EXPECT_EQ(last.ending, LadderEnding::Exhausted);
    EXPECT_EQ(last.rounds, 4);
    EXPECT_EQ(last.attempts[1].step, 2);
    EXPECT_EQ(last.attempts[2].step, 3);
    EXPECT_EQ(last.attempts[3].step, 4);
}

TEST(FailureLadder, ATechniqueCheckAfterTheFailureIsTheFirstStep)
{
    Climb c;
    c.bad("V1", "L1");
    const base::Moment before = base::plusMs(c.sets.front().judged.lastAt, -1), after = base::plusMs(c.sets.front().judged.lastAt, 1);
    EXPECT_EQ(climb(c.sets, { &before, 1 }).step, 1);
    EXPECT_EQ(climb(c.sets, { &after, 1 }).step, 2);
}

TEST(FailureLadder, ThePassingStepTellsTheCause)
{
    EXPECT_EQ(Climb().bad("V1", "L1").good("V1", "L1").ladder().ending, LadderEnding::Random);
    const Ladder control = Climb().bad("V1", "L1").bad("V1", "L1").good("V1", "L2").ladder();
    EXPECT_EQ(control.ending, LadderEnding::ControlMaterial);
    EXPECT_EQ(control.spentVials, std::vector<std::string> { "L1" });
    const Ladder strip = Climb().bad("V1", "L1").bad("V1", "L1").bad("V1", "L2").good("V2", "L2").ladder();
    EXPECT_EQ(strip.ending, LadderEnding::StripVial);
    EXPECT_EQ(strip.spentVials, std::vector<std::string> { "V1" });
}

TEST(FailureLadder, ASkippedControlVialIsStillOwedBeforeTheMeterIsBlamed)
{
    Climb c;
    c.bad("V1", "L1").bad("V1", "L1").bad("V2", "L1");
    EXPECT_FALSE(c.ladder().exhaustedBy);
    EXPECT_EQ(c.ladder().step, 3);
    EXPECT_TRUE(c.bad("V2", "L2").ladder().exhaustedBy);
}

TEST(FailureLadder, LevelsClimbApart)
{
    Climb c;
    c.bad("V1", "L1").bad("V1", "H1", Level::High);
    EXPECT_EQ(c.ladder().step, 1);
    c.bad("V1", "L1");
    EXPECT_EQ(c.ladder().step, 3) << "the level that is furthest speaks";
    c.good("V1", "L2");
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L2"), c.ladder()));
}

TEST(FailureLadder, AGoodSetAfterTheLastStepNamesNoOtherCause)
{
    const Ladder ladder = Climb().bad("V1", "L1").bad("V1", "L2").bad("V2", "L2").good("V3", "L2").ladder();
    EXPECT_TRUE(ladder.passed);
    EXPECT_EQ(ladder.ending, LadderEnding::Exhausted);
    EXPECT_TRUE(ladder.spentVials.empty());
}

TEST(FailureLadder, AThirdAttemptOnTheSameVialsNeedsADeviation)
{
    Climb c;
    c.bad("V1", "L1");
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L1"), c.ladder()));
    c.bad("V1", "L1");
    const base::Done third = mayAttempt(nextRun("V1", "L1"), c.ladder());
    ASSERT_FALSE(third);
    EXPECT_EQ(third.error().kind, base::FaultKind::Refused);
    EXPECT_NE(third.error().text.find("open a new control vial"), std::string::npos) << third.error().text;
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L2"), c.ladder()));
    EXPECT_TRUE(mayAttempt(nextRun("V2", "L1"), c.ladder()));
    auto deviating = nextRun("V1", "L1");
    deviating.deviation = "";
    EXPECT_FALSE(mayAttempt(deviating, c.ladder()));
    deviating.deviation = "no other vial";
    EXPECT_TRUE(mayAttempt(deviating, c.ladder()));
}

TEST(FailureLadder, OnlyARefusalForItsCountLeavesAnAttemptOut)
{
    EXPECT_TRUE(isOneTooMany(base::refused("%1; open a new control vial, or give the reason for one more attempt as a deviation", "x")));
    EXPECT_FALSE(isOneTooMany(base::refused("%1 waits for a signature", "x")));
}

TEST(FailureLadder, AnErrorCodeIsRepeatedOnceInItsSet)
{
    Climb c;
    c.then({ Level::Low, "V1", "L1", "ERR:E-1" }, Verdict::Partial, false, "S");
    EXPECT_EQ(c.ladder().step, 2);
    EXPECT_FALSE(c.ladder().firstFailure) << "no result is no failure";
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L1", "S"), c.ladder()));
    c.then({ Level::Low, "V1", "L1", "ERR:E-1" }, Verdict::Partial, false, "S");
    EXPECT_EQ(c.ladder().step, 4);
    EXPECT_FALSE(mayAttempt(nextRun("V1", "L1", "S"), c.ladder()));
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L1", "another occasion"), c.ladder()));
}

TEST(FailureLadder, AnErrorCodeBeforeAFailureDoesNotUseUpTheRepeat)
{
    Climb c;
    c.then({ Level::Low, "V1", "L1", "ERR:E-1" }, Verdict::Partial, false, "S")
        .then({ Level::Low, "V1", "L1", "bad" }, Verdict::Rejected, false, "S");
    EXPECT_TRUE(mayAttempt(nextRun("V1", "L1", "S"), c.ladder()));
}

TEST(FailureLadder, AShiftIsPartOfTheStanding)
{
    const Ladder ladder = Climb().then({ Level::Low, "V1", "L1", "bad" }, Verdict::Rejected, true).ladder();
    EXPECT_TRUE(ladder.shift);
    EXPECT_EQ(ladder.step, 1);
}

TEST(FailureLadder, ClimbsAreDividedByAcceptedSets)
{
    Climb c;
    c.good("V1", "L1").bad("V1", "L1").good("V1", "L1").good("V1", "L1").bad("V1", "L1");
    const auto climbs = climbsIn(c.sets, {});
    ASSERT_EQ(climbs.size(), 2U);
    EXPECT_EQ(climbs[0].ending, LadderEnding::Random);
    EXPECT_FALSE(climbs[1].passed);
    EXPECT_EQ(climbs[1].step, 1);
}

TEST(FailureLadder, TheErrorIsSaidWithItsDirection)
{
    EXPECT_EQ(errorInWords(Climb().bad("V1", "L1").sets), "low control +30.0 %");
    EXPECT_EQ(errorInWords(Climb().good("V1", "L1").sets), "");
}

TEST(FailurePatterns, ThreeFailedFirstAttemptsInThirtyDaysAreOne)
{
    const base::Moment now = sample::at("2026-05-31T12:00");
    std::vector<FailedFirst> failures;
    for (const char* day : { "2026-05-01T13:00", "2026-05-10T07:00" })
        failures.push_back({ sample::at(day), base::MeterId("M1"), base::OperatorId(failures.empty() ? "N1" : "N2"),
            base::StripVialId("V1"), base::ControlVialId("L1"), Level::Low });
    EXPECT_TRUE(failurePatterns(failures, {}, now).empty());
    failures.push_back({ sample::at("2026-05-20T07:00"), base::MeterId("M1"), base::OperatorId("N1"), base::StripVialId("V2"),
        base::ControlVialId("L2"), Level::Low });
    const auto patterns = failurePatterns(failures, {}, now);
    ASSERT_EQ(patterns.size(), 1U);
    EXPECT_EQ(patterns.front().kind, FailureSubject::Meter);
    EXPECT_EQ(patterns.front().count, 3);
    EXPECT_EQ(patterns.front().last, sample::at("2026-05-20T07:00"));
    EXPECT_TRUE(failurePatterns(failures, {}, sample::at("2026-05-31T13:01")).empty()) << "the first is older than thirty days";
}

TEST(FailurePatterns, APersonIsNamedOnlyWhereNoVialAndNoMeterExplainsIt)
{
    const base::Moment now = sample::at("2026-05-31T12:00");
    std::vector<FailedFirst> failures;
    for (const char* meter : { "M1", "M2", "M3" })
        failures.push_back({ sample::at("2026-05-20T07:00"), base::MeterId(meter), base::OperatorId("N1"), base::StripVialId("V1"),
            base::ControlVialId("L1"), Level::Low });
    for (const auto& pattern : failurePatterns(failures, {}, now))
        EXPECT_NE(pattern.kind, FailureSubject::Operator);
    failures[1].stripVial = base::StripVialId("V2");
    failures[2].controlVial = base::ControlVialId("L2");
    const auto patterns = failurePatterns(failures, {}, now);
    ASSERT_EQ(patterns.size(), 1U);
    EXPECT_EQ(patterns.front().kind, FailureSubject::Operator);
    EXPECT_EQ(patterns.front().subject, "N1");
}

TEST(Lookback, LongDigitRunsLookLikeAPatientsNumber)
{
    EXPECT_TRUE(looksLikePatientNumber("see 123456"));
    EXPECT_FALSE(looksLikePatientNumber("12345 of 99 on 2026-05-04"));
}

TEST(Lookback, AVialsDoubtBeginsWithTheLastGoodRunOnIt)
{
    Climb c;
    c.good("V7", "L1").good("V8", "L1");
    const auto opened = sample::at("2026-05-01T05:00");
    const VialDoubt used = doubtOf(base::StripVialId("V7"), c.sets, opened, opened);
    EXPECT_EQ(used.from, c.sets[0].judged.lastAt);
    EXPECT_EQ(used.alternative, c.sets[1].judged.lastAt);
    const VialDoubt never = doubtOf(base::StripVialId("V9"), std::span(c.sets).first(0), opened, opened);
    EXPECT_EQ(never.from, opened);
    EXPECT_FALSE(never.alternative);
}

} // namespace mk::registry
