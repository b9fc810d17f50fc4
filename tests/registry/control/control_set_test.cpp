// SPDX-License-Identifier: GPL-3.0-or-later
// The verdict of a set: handbook 4.2, 4.3, 4.5, 6.1, 6.2 and the vectors of 6.3; interface.md, "Verdict of a set".
#include "registry/control/control_set.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::aRun;
using sample::at;
using sample::decimal;
using sample::judgePairOf;
using sample::judgeSet;
using sample::Materials;

/// Rules against the target, and drift by the charts of the group: a document of before each meter had its own usual value.
const Policy& setPolicy()
{
    static const Policy policy = policyFrom(PolicyPairs { { "profile", "older" } }).value();
    return policy;
}

std::string shownAt(double mean, double sd, double z)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.2f", mean + z * sd);
    return text;
}

/// Judges a sequence of z pairs, one set a day; the last set comes back.
SetRecord afterScores(
    const std::vector<std::pair<double, double>>& scores, MeterSeries& series, const Materials& materials = {}, int firstDay = 4)
{
    SetRecord last;
    for (std::size_t i = 0; i < scores.size(); ++i) {
        const std::string day = base::toText(base::addDays(base::parseDate("2026-05-01").value(), firstDay - 1 + static_cast<int>(i)));
        last = judgePairOf(series, materials, day, day + "T07:00", shownAt(60, 3, scores[i].first), shownAt(300, 9, scores[i].second));
    }
    return last;
}

std::vector<std::string> rulesAfter(const std::vector<std::pair<double, double>>& scores)
{
    MeterSeries series(setPolicy());
    return afterScores(scores, series).judged.rules;
}

using Rules = std::vector<std::string>;

SetRecord oneSet(const std::string& low, const std::string& high, const Materials& materials = {})
{
    MeterSeries series(setPolicy());
    return judgePairOf(series, materials, "s", "2026-05-04T07:00", low, high);
}

} // namespace

TEST(SetRules, VectorsOfHandbook63)
{
    EXPECT_EQ(rulesAfter({ { .5, -.4 }, { 2.1, .3 } }), Rules { "1-2s" }) << "A, set 2";
    EXPECT_EQ(rulesAfter({ { .5, -.4 }, { 2.1, .3 }, { 2.2, .1 } }), (Rules { "1-2s", "2-2s" })) << "A, set 3";
    EXPECT_EQ(rulesAfter({ { 0, 0 }, { 2.1, 2.3 } }), (Rules { "1-2s", "2-2s" })) << "B";
    EXPECT_EQ(rulesAfter({ { 0, 0 }, { 2.1, -2.1 } }), (Rules { "1-2s", "R-4s" })) << "C";
    EXPECT_EQ(rulesAfter({ { 0, 0 }, { 2.8, -1.3 } }), Rules { "1-2s" }) << "D, one beyond +2 and one beyond -2";
    EXPECT_EQ(rulesAfter({ { 1.1, 1.2 }, { 1.3, 1.05 } }), Rules { "4-1s" }) << "E";
    EXPECT_EQ(rulesAfter({ { 1.1, .2 }, { 1.4, -.3 }, { 1.2, .1 }, { 1.6, .4 } }), Rules { "4-1s" }) << "F";
    EXPECT_EQ(rulesAfter({ { 2.0, 0 }, { 2.0, 0 } }), Rules {}) << "G, strict";
    EXPECT_EQ(rulesAfter({ { 3.0, 0 } }), Rules { "1-2s" }) << "H, set 1";
    EXPECT_EQ(rulesAfter({ { 3.0, 0 }, { -3.2, 0 } }), (Rules { "1-2s", "1-3s" })) << "H, set 2: no R-4s across sets";
    EXPECT_EQ(rulesAfter({ { .3, .1 }, { .2, .4 }, { .1, .6 }, { .5, .2 }, { .4, .3 } }), Rules { "10x" }) << "I";
    EXPECT_EQ(rulesAfter({ { .3, .1 }, { .2, .4 }, { .0, .6 }, { .5, .2 }, { .4, .3 } }), Rules {}) << "J: on the mean is no side";
}

TEST(SetRules, TheRangeReadingOfR4sIsASetting)
{
    const std::vector<std::pair<std::string, std::string>> settings { { "r4s_reading", "range" } };
    const Policy policy = policyFrom(settings).value();
    MeterSeries series(policy);
    EXPECT_EQ(afterScores({ { 0, 0 }, { 2.8, -1.3 } }, series).judged.rules, (Rules { "1-2s", "R-4s" })) << "D";
}

TEST(SetVerdict, WarnsOrRejectsByTheRolesOfTheRules)
{
    MeterSeries series(setPolicy());
    EXPECT_EQ(afterScores({ { 2.1, .3 } }, series).judged.verdict, Verdict::Warned) << "1-2s warns";
    EXPECT_EQ(afterScores({ { 2.2, .3 } }, series, {}, 5).judged.verdict, Verdict::Rejected) << "2-2s rejects";
    MeterSeries other(setPolicy());
    EXPECT_EQ(afterScores({ { 1.1, 1.2 }, { 1.3, 1.05 } }, other).judged.verdict, Verdict::Warned) << "4-1s warns";
}

TEST(SetVerdict, ARuleInARejectRoleRejectsThoughTheRangeAccepts)
{
    const SetRecord set = oneSet("72", "300"); // story S02
    EXPECT_EQ(set.judged.runs[0].inRange, true);
    EXPECT_DOUBLE_EQ(set.judged.runs[0].z.value_or(0), 4.0);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
}

TEST(SetVerdict, BoundsOfTheRangeAreIncluded)
{
    Materials m;
    m.lowRange.act.mean.reset(); // the range alone
    m.lowRange.act.sd.reset();
    m.lowRange.act.stage = Stage::Range;
    for (const char* inside : { "48", "48.0", "72" })
        EXPECT_EQ(oneSet(inside, "300", m).judged.verdict, Verdict::Accepted) << inside;
    for (const char* outside : { "47.9", "72.1", "47", "73" })
        EXPECT_EQ(oneSet(outside, "300", m).judged.verdict, Verdict::Rejected) << outside;
}

TEST(SetVerdict, RejectedComesBeforeInvalidBeforePartial)
{
    // interface.md: "the first that applies: rejected (a valid run is rejected), invalid, partial, warned, accepted".
    Materials spoilt;
    spoilt.highVial.vial.opened.reset();
    EXPECT_EQ(oneSet("78", "300", spoilt).judged.verdict, Verdict::Rejected) << "a valid rejected run beside an invalid one";
    EXPECT_EQ(oneSet("60", "300", spoilt).judged.verdict, Verdict::Invalid);
    MeterSeries series(setPolicy());
    EXPECT_EQ(judgeSet(series, spoilt, { aRun("s", "2026-05-04T07:00", Level::High, "300") }).judged.verdict, Verdict::Invalid)
        << "invalid, although a level is missing too";
    EXPECT_EQ(judgeSet(series, {}, { aRun("t", "2026-05-05T07:00", Level::Low, "60") }).judged.verdict, Verdict::Partial);
    EXPECT_EQ(judgeSet(series, {}, { aRun("u", "2026-05-06T07:00", Level::Low, "78") }).judged.verdict, Verdict::Rejected)
        << "rejected, although a level is missing";
}

TEST(SetVerdict, AnInvalidRunThatLooksBadIsInvalidAndFiresNothing)
{
    Materials spoilt;
    spoilt.stripVial.vial.opened.reset();
    const SetRecord set = oneSet("78", "300", spoilt);
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_TRUE(set.judged.rules.empty());
    EXPECT_FALSE(set.judged.drift.counted);
}

TEST(SetWindow, ThirtyMinutesBetweenTheLevels)
{
    const auto verdictWith = [](const char* second) {
        MeterSeries series(setPolicy());
        return judgeSet(series, {}, { aRun("s", "2026-05-04T07:00", Level::Low, "60"), aRun("s", second, Level::High, "300") })
            .judged.verdict;
    };
    EXPECT_EQ(verdictWith("2026-05-04T07:30"), Verdict::Accepted);
    EXPECT_EQ(verdictWith("2026-05-04T07:31"), Verdict::Partial);
}

TEST(SetWindow, TheSameStripLotOnBothLevels)
{
    Materials other;
    MeterSeries series(setPolicy());
    const auto low = aRun("s", "2026-05-04T07:00", Level::Low, "60");
    const auto high = aRun("s", "2026-05-04T07:02", Level::High, "300");
    RunToJudge first { { 1 }, &low, other.contextOf(Level::Low) };
    Materials s2;
    s2.stripLot.lot.lot = base::StripLotId("S2");
    RunToJudge second { { 2 }, &high, s2.contextOf(Level::High) };
    const std::vector<RunToJudge> runs { first, second };
    EXPECT_EQ(series.judge(runs, false, {}, sample::berlin(), { [](base::Moment) { return std::vector<CountedResult>(); } }).verdict,
        Verdict::Partial);
}

TEST(SetKinds, HiAndLoAreRejectedAndCountOnTheirSide)
{
    const SetRecord hi = oneSet("HI", "300");
    EXPECT_EQ(hi.judged.verdict, Verdict::Rejected);
    EXPECT_FALSE(hi.judged.runs[0].z);
    EXPECT_FALSE(hi.judged.runs[0].inRange);
    EXPECT_EQ(hi.judged.runs[0].rules, (Rules { "1-2s", "1-3s" })) << "above +3 SD";
    EXPECT_EQ(oneSet("LO", "300").judged.runs[0].rules, (Rules { "1-2s", "1-3s" }));
    EXPECT_EQ(oneSet("HI", "LO").judged.rules, (Rules { "1-2s", "1-3s", "R-4s" }));
}

TEST(SetKinds, HiIsNoPartOfTheDriftFigures)
{
    MeterSeries series(setPolicy());
    const SetRecord hi = judgePairOf(series, {}, "s", "2026-05-04T07:00", "HI", "300");
    EXPECT_DOUBLE_EQ(hi.judged.drift.ewma, 0.0) << "only the number of the high level, which lies on its mean";
    EXPECT_TRUE(hi.judged.drift.flags.empty());
}

TEST(SetKinds, HiWithoutTargetsIsRejectedToo)
{
    Materials m;
    m.lowRange.act.mean.reset();
    m.lowRange.act.sd.reset();
    EXPECT_EQ(oneSet("HI", "300", m).judged.verdict, Verdict::Rejected);
}

TEST(SetKinds, AnErrorCodeIsNoResult)
{
    const SetRecord set = oneSet("ERR:E-4", "300");
    EXPECT_EQ(set.judged.runs[0].verdict, Verdict::Partial);
    EXPECT_TRUE(set.judged.runs[0].rules.empty());
    EXPECT_FALSE(set.judged.runs[0].counted);
    EXPECT_EQ(set.judged.verdict, Verdict::Partial);
}

TEST(SetTargets, ZeroOrMissingSdIsNotEvaluable)
{
    for (const std::string sd : { "0", "0.00", "" }) {
        Materials m;
        if (sd.empty())
            m.lowRange.act.sd.reset();
        else
            m.lowRange.act.sd.emplace(decimal(sd));
        const SetRecord set = oneSet("71", "300", m); // would be beyond 3 SD
        EXPECT_FALSE(set.judged.runs[0].evaluable);
        EXPECT_FALSE(set.judged.runs[0].counted);
        EXPECT_FALSE(set.judged.runs[0].z);
        EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "the range alone decides";
    }
}

TEST(SetTargets, AMissingMeanIsNotEvaluable)
{
    Materials m;
    m.lowRange.act.mean.reset();
    EXPECT_FALSE(oneSet("71", "300", m).judged.runs[0].evaluable);
}

TEST(SetTargets, RangeOnlyAllowsNoRule)
{
    Materials m;
    m.lowRange.act.stage = Stage::Range; // though a mean and an SD stand beside it
    EXPECT_TRUE(oneSet("71", "300", m).judged.rules.empty());
    m.lowRange.act.stage.reset(); // not given
    EXPECT_TRUE(oneSet("71", "300", m).judged.rules.empty());
}

TEST(SetTargets, InterimAllowsOnly13sAndR4s)
{
    Materials m;
    m.lowRange.act.stage = m.highRange.act.stage = Stage::Interim;
    MeterSeries series(setPolicy());
    EXPECT_TRUE(afterScores({ { 2.2, 2.2 }, { 2.2, 2.2 } }, series, m).judged.rules.empty()) << "neither 1-2s nor 2-2s";
    EXPECT_EQ(oneSet("69.3", "300", m).judged.rules, Rules { "1-3s" });
    EXPECT_EQ(oneSet("69.3", "300", m).judged.verdict, Verdict::Rejected);
    EXPECT_EQ(oneSet("66.3", "281", m).judged.rules, Rules { "R-4s" }) << "z +2.1 and -2.1";
    MeterSeries counting(setPolicy());
    EXPECT_FALSE(afterScores({ { 1, 1 } }, counting, m).judged.drift.counted);
}

TEST(SetRepeats, AreJudgedByRangeAnd13sOnly)
{
    MeterSeries series(setPolicy());
    const SetRecord set = judgeSet(series, {},
        { aRun("s", "2026-05-04T07:00", Level::Low, "78"), aRun("s", "2026-05-04T07:04", Level::Low, "66.6"),
            aRun("s", "2026-05-04T07:06", Level::High, "300") });
    EXPECT_TRUE(set.judged.runs[0].counted);
    EXPECT_FALSE(set.judged.runs[1].counted);
    EXPECT_EQ(set.judged.runs[1].attempt, 2);
    EXPECT_TRUE(set.judged.runs[1].rules.empty()) << "z 2.2 is no 1-2s on a repeat, and with the 78 no 2-2s";
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "accepted after repeat";
    EXPECT_EQ(set.judged.attempt, 2);
}

TEST(SetRepeats, A13sOnTheRepeatRejects)
{
    MeterSeries series(setPolicy());
    const SetRecord set = judgeSet(series, {},
        { aRun("s", "2026-05-04T07:00", Level::Low, "78"), aRun("s", "2026-05-04T07:04", Level::Low, "70"),
            aRun("s", "2026-05-04T07:06", Level::High, "300") });
    EXPECT_EQ(set.judged.runs[1].inRange, true);
    EXPECT_EQ(set.judged.runs[1].rules, Rules { "1-3s" });
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
}

TEST(SetRepeats, ARejectedResultIsNotTakenBackByAnAttemptWithoutResultOrThatMayNotCount)
{
    // interface.md: rejected comes first, where a valid run is rejected; handbook 4.5: an error code is no result, 3: a lapsed operator's
    // run clears nothing.
    const auto withRepeat = [](const acts::ControlRun& repeat) {
        MeterSeries series(setPolicy()); // a second such set would be a shift, which no repeat ends
        return judgeSet(
            series, {}, { aRun("s", "2026-05-04T07:00", Level::Low, "78"), aRun("s", "2026-05-04T07:02", Level::High, "300"), repeat })
            .judged.verdict;
    };
    EXPECT_EQ(withRepeat(aRun("s", "2026-05-04T07:06", Level::Low, "ERR:E-4")), Verdict::Rejected);
    auto otherUnit = aRun("s", "2026-05-04T07:06", Level::Low, "3.4");
    otherUnit.unit = base::GlucoseUnit::MmolPerL;
    EXPECT_EQ(withRepeat(otherUnit), Verdict::Rejected);
    EXPECT_EQ(withRepeat(aRun("s", "2026-05-04T07:06", Level::Low, "62")), Verdict::Accepted) << "a valid result does";
}

TEST(SetRepeats, DoNotAnswerAShiftRule)
{
    // Handbook 4.6: a shift does not go away by one good value, also where the repeat is a row of the same set.
    MeterSeries series(setPolicy());
    judgePairOf(series, {}, "s", "2026-05-04T07:00", "66.6", "300");
    const SetRecord set = judgeSet(series, {},
        { aRun("t", "2026-05-05T07:00", Level::Low, "66.6"), aRun("t", "2026-05-05T07:02", Level::High, "300"),
            aRun("t", "2026-05-05T07:06", Level::Low, "60") });
    EXPECT_TRUE(set.judged.shift);
    EXPECT_EQ(set.judged.runs[2].attempt, 2);
    EXPECT_FALSE(set.judged.runs[2].counted);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
}

TEST(SetRepeats, DoNotEnterTheCountsOfLaterSets)
{
    // First attempt +2.1, repeat -0.5; the next day +2.2: 2-2s reads the first attempts.
    MeterSeries series(setPolicy());
    judgeSet(series, {},
        { aRun("s", "2026-05-04T07:00", Level::Low, "66.3"), aRun("s", "2026-05-04T07:04", Level::Low, "58.5"),
            aRun("s", "2026-05-04T07:06", Level::High, "300") });
    EXPECT_EQ(judgePairOf(series, {}, "t", "2026-05-05T07:00", "66.6", "300").judged.rules, (Rules { "1-2s", "2-2s" }));
}

TEST(SetRepeats, ASetThatRepeatsAnotherIsARepeat)
{
    MeterSeries series(setPolicy());
    judgePairOf(series, {}, "s", "2026-05-04T07:00", "78", "300");
    auto run = aRun("s-r", "2026-05-04T07:10", Level::Low, "66.3");
    run.repeatOf = "s";
    const SetRecord set = judgeSet(series, {}, { run });
    EXPECT_EQ(set.judged.runs[0].attempt, 2);
    EXPECT_FALSE(set.judged.runs[0].counted);
    EXPECT_TRUE(set.judged.runs[0].rules.empty());
}

TEST(Segment, BeginsAgainWhenTheTargetsChange)
{
    Materials m;
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series, m);
    m.lowRange.act.sd = decimal("2.99"); // the same lots, other numbers
    const SetRecord set = judgePairOf(series, m, "t", "2026-05-05T07:00", "66.6", "300");
    EXPECT_TRUE(set.judged.segmentStart);
    EXPECT_EQ(set.judged.rules, Rules { "1-2s" }) << "no 2-2s across the boundary";
    EXPECT_EQ(set.judged.drift.n, 1);
}

TEST(Segment, GoesOnBetweenTwoEstablishedLots)
{
    Materials m;
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series, m);
    m.stripLot.lot.lot = base::StripLotId("S2");
    m.lowRange.act.mean = decimal("62"); // of the new lot
    m.lowRange.act.stripLot = m.highRange.act.stripLot = base::StripLotId("S2");
    const SetRecord set = judgePairOf(series, m, "t", "2026-05-05T07:00", "68.6", "300");
    EXPECT_FALSE(set.judged.segmentStart);
    EXPECT_EQ(set.judged.rules, (Rules { "1-2s", "2-2s" })) << "counts go on in z";
    EXPECT_EQ(set.judged.drift.n, 2);
}

TEST(Segment, BeginsAgainWhenTheNewLotIsNotEstablished)
{
    Materials m;
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series, m);
    m.stripLot.lot.lot = base::StripLotId("S2");
    m.lowRange.act.stage = m.highRange.act.stage = Stage::Range;
    EXPECT_TRUE(judgePairOf(series, m, "t", "2026-05-05T07:00", "60", "300").judged.segmentStart);
}

TEST(Segment, BeginsAgainAfterARepairOrReturn)
{
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series);
    const SetRecord set = judgeSet(
        series, {}, { aRun("t", "2026-05-05T07:00", Level::Low, "66.6"), aRun("t", "2026-05-05T07:02", Level::High, "300") }, true);
    EXPECT_TRUE(set.judged.segmentStart);
    EXPECT_EQ(set.judged.rules, Rules { "1-2s" });
}

TEST(Segment, AMissingLevelBreaksOnlyTheAcrossReading)
{
    // Handbook 6.2: the other level's own sequence goes on.
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, .1 } }, series);
    const SetRecord set = judgeSet(series, {}, { aRun("t", "2026-05-05T07:00", Level::Low, "66.6") });
    EXPECT_EQ(set.judged.rules, (Rules { "1-2s", "2-2s" }));
}

TEST(Series, AnInvalidSetDoesNotMoveIt)
{
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series);
    Materials spoilt;
    spoilt.person.act.competentUntil.reset();
    judgePairOf(series, spoilt, "invalid", "2026-05-05T07:00", "60", "300");
    EXPECT_EQ(judgePairOf(series, {}, "t", "2026-05-06T07:00", "66.6", "300").judged.rules, (Rules { "1-2s", "2-2s" }));
}

TEST(Series, IsAValueThatCanBeTriedOnACopy)
{
    MeterSeries series(setPolicy());
    afterScores({ { 2.1, 0 } }, series);
    MeterSeries copy = series;
    judgePairOf(copy, {}, "t", "2026-05-05T07:00", "60", "300");
    EXPECT_EQ(judgePairOf(series, {}, "t", "2026-05-05T07:00", "66.6", "300").judged.rules, (Rules { "1-2s", "2-2s" }));
}

} // namespace mk::registry
