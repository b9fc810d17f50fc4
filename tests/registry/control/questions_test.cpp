// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/questions.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

RangeRecord aLevelsRange(Level level, const char* low, const char* high, base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl)
{
    acts::RangeAssigned range;
    range.level = level;
    range.unit = unit;
    range.low = sample::decimal(low);
    range.high = sample::decimal(high);
    return { {}, range };
}

/// Ranges of handbook 16, common ground: low 48 to 72, high 255 to 345; story S11 asks at 61 on high.
const std::vector<RangeRecord>& commonGround()
{
    static const std::vector<RangeRecord> kRanges { aLevelsRange(Level::Low, "48", "72"), aLevelsRange(Level::High, "255", "345") };
    return kRanges;
}

std::optional<Level> otherLevelOf(
    const Reading& reading, Level chosen, const std::vector<RangeRecord>& ranges, base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl)
{
    RangesOfRun of;
    for (const auto& range : ranges)
        if (range.act.level == chosen)
            of.own = &range;
        else
            of.beside.push_back(&range);
    acts::ControlRun run;
    run.level = chosen;
    run.result = reading;
    run.unit = unit;
    for (const auto& question : questionsOf(run, of))
        if (question.kind == QuestionKind::OtherLevel)
            return question.other->level;
    return std::nullopt;
}

Reading reading(const char* typed)
{
    return parseReading(typed).value();
}

TEST(LevelQuestion, AsksForALowValueOnTheHighLevel)
{
    EXPECT_EQ(otherLevelOf(reading("61"), Level::High, commonGround()), Level::Low);
    EXPECT_EQ(otherLevelOf(reading("300"), Level::Low, commonGround()), Level::High);
}

TEST(LevelQuestion, TakesTheEndsOfTheOtherRange)
{
    EXPECT_EQ(otherLevelOf(reading("72"), Level::High, commonGround()), Level::Low);
    EXPECT_EQ(otherLevelOf(reading("72.1"), Level::High, commonGround()), std::nullopt);
}

TEST(LevelQuestion, IsSilentOnAnOrdinaryFailure)
{
    EXPECT_EQ(otherLevelOf(reading("362"), Level::High, commonGround()), std::nullopt); // above, and in no other range
    EXPECT_EQ(otherLevelOf(reading("78"), Level::Low, commonGround()), std::nullopt);
    EXPECT_EQ(otherLevelOf(High {}, Level::Low, commonGround()), std::nullopt); // HI is no number
}

TEST(LevelQuestion, NeedsFarOutside)
{
    const std::vector<RangeRecord> near { aLevelsRange(Level::Low, "48", "72"), aLevelsRange(Level::Normal, "73", "100") };
    EXPECT_EQ(otherLevelOf(reading("75"), Level::Low, near), std::nullopt);
    EXPECT_EQ(otherLevelOf(reading("97"), Level::Low, near), Level::Normal); // 25 beyond 72, more than the width of 24
}

TEST(LevelQuestion, HoldsANumberOnlyAgainstRangesInItsOwnUnit)
{
    EXPECT_EQ(otherLevelOf(reading("300"), Level::Low, commonGround(), base::GlucoseUnit::MmolPerL), std::nullopt);
    const std::vector<RangeRecord> mixed { aLevelsRange(Level::Low, "48", "72"),
        aLevelsRange(Level::High, "14.2", "319.2", base::GlucoseUnit::MmolPerL) };
    EXPECT_EQ(otherLevelOf(reading("300"), Level::Low, mixed), std::nullopt);
}

TEST(LevelQuestion, AsksNothingWithoutARangeOfItsOwn)
{
    EXPECT_EQ(otherLevelOf(reading("300"), Level::Low, { commonGround()[1] }), std::nullopt);
}

TEST(LevelQuestion, KeepsQuestionAndAnswerInPlainEnglish)
{
    RunQuestion question { QuestionKind::OtherLevel, reading("61"), base::GlucoseUnit::MgPerDl, Level::High, commonGround()[0].act };
    EXPECT_EQ(questionKept(question), "Was it the high or the low control?");
    EXPECT_EQ(answerKept(question, true), "high");
    EXPECT_EQ(answerKept(question, false), "low");
    question.kind = QuestionKind::OtherUnit;
    EXPECT_EQ(answerKept(question, false), "mmol/L");
}

struct UnitCase {
    base::GlucoseUnit unit;
    const char* typed;
    std::optional<QuestionKind> asked;
};
class UnitQuestion : public ::testing::TestWithParam<UnitCase> { };

/// source: handbook 10.4, Plausibility
TEST_P(UnitQuestion, FollowsTheHandbook)
{
    EXPECT_EQ(unitQuestion(reading(GetParam().typed), GetParam().unit), GetParam().asked) << GetParam().typed;
}
INSTANTIATE_TEST_SUITE_P(Handbook, UnitQuestion,
    ::testing::Values(UnitCase { base::GlucoseUnit::MgPerDl, "3.4", QuestionKind::OtherUnit },
        UnitCase { base::GlucoseUnit::MgPerDl, "9", QuestionKind::OtherUnit }, UnitCase { base::GlucoseUnit::MgPerDl, "10", {} },
        UnitCase { base::GlucoseUnit::MgPerDl, "61.5", QuestionKind::Decimal }, UnitCase { base::GlucoseUnit::MgPerDl, "300", {} },
        UnitCase { base::GlucoseUnit::MgPerDl, "LO", {} }, UnitCase { base::GlucoseUnit::MmolPerL, "5.6", {} },
        UnitCase { base::GlucoseUnit::MmolPerL, "47", QuestionKind::OtherUnit },
        UnitCase { base::GlucoseUnit::MmolPerL, "6", QuestionKind::Decimal },
        UnitCase { base::GlucoseUnit::MmolPerL, "40.1", QuestionKind::OtherUnit }));

} // namespace
} // namespace mk::registry
