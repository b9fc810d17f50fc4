// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/steps.h"

#include "words/said.h"

#include <vector>

namespace mk::words {
namespace {

using namespace registry;

std::vector<NextStep> everyStep()
{
    std::vector<NextStep> all;
    for (std::size_t kind = 0; kind < kStepKinds; ++kind) {
        NextStep step { static_cast<StepKind>(kind) };
        switch (needsOf(step.what)) {
        case StepNeeds::Nothing: break;
        case StepNeeds::Levels: step.levels = { Level::Low, Level::High }; break;
        case StepNeeds::Subject: step.subject = "W5"; break;
        case StepNeeds::Material:
            step.material = { "S2607-01", "S2607" };
            step.levels = { Level::Low, Level::High };
            step.subject = "CL-402-1";
            break;
        case StepNeeds::Ladder: step.ladder = { 3, false }; break;
        }
        all.push_back(step);
    }
    for (int number = 1; number <= 5; ++number)
        for (const bool shift : { false, true })
            all.push_back({ StepKind::ClimbLadder, {}, {}, {}, { number, shift } });
    return all;
}

TEST(Steps, EachHasAWholePhrase)
{
    for (const auto& step : everyStep()) {
        SCOPED_TRACE(static_cast<int>(step.what));
        EXPECT_FALSE(stepSaid(step).isEmpty());
        EXPECT_FALSE(stepSaid(step).endsWith(QLatin1Char('.')));
        test::expectWhole(stepSaid(step));
    }
}

TEST(Steps, SayWhatTheirKindNeeds)
{
    const StepKind kLevels[] = { StepKind::RunLevels, StepKind::RunOnOtherMaterials, StepKind::RunInReserve };
    const StepKind kSubject[] = { StepKind::ConfirmArrival, StepKind::CompareInsteadOfSample, StepKind::ReturnSample };
    const StepKind kMaterial[] = { StepKind::RunOnNewMaterial, StepKind::LookInInsert };
    for (const StepKind kind : kLevels)
        EXPECT_EQ(needsOf(kind), StepNeeds::Levels);
    for (const StepKind kind : kSubject)
        EXPECT_EQ(needsOf(kind), StepNeeds::Subject);
    for (const StepKind kind : kMaterial)
        EXPECT_EQ(needsOf(kind), StepNeeds::Material);
    EXPECT_EQ(needsOf(StepKind::ClimbLadder), StepNeeds::Ladder);
    EXPECT_EQ(needsOf(StepKind::Compare), StepNeeds::Nothing);
    for (const auto& step : everyStep()) {
        const StepNeeds needs = needsOf(step.what);
        const QString said = stepSaid(step);
        EXPECT_TRUE(needs != StepNeeds::Levels || said.contains(QStringLiteral("low and high"))) << said.toStdString();
        EXPECT_TRUE(needs != StepNeeds::Subject || said.contains(QStringLiteral("W5"))) << said.toStdString();
        EXPECT_TRUE(needs != StepNeeds::Material || said.contains(QStringLiteral("S2607"))) << said.toStdString();
    }
}

TEST(Steps, NothingEscapesTranslation)
{
    const test::Pseudo pseudo;
    for (const auto& step : everyStep())
        test::expectTranslated(stepSaid(step));
    for (std::size_t point = 0; point < std::size(Words<TechniquePoint>::all); ++point)
        test::expectTranslated(techniqueSaid(static_cast<TechniquePoint>(point)));
}

TEST(Steps, SayInEnglishWhatTheyAlwaysSaid)
{
    const std::pair<NextStep, const char*> kRows[] = {
        { { StepKind::RunLevels, {}, { Level::Low, Level::Normal, Level::High } }, "Run low, normal and high" },
        { { StepKind::ConfirmArrival, {}, {}, "W2" }, "Ward W2: confirm that it arrived" },
        { { StepKind::RunInReserve, {}, { Level::Low } }, "Run low: the control of a meter in reserve is due" },
        { { StepKind::CompareInsteadOfSample, {}, {}, "7" }, "Compare with the laboratory, in place of the proficiency sample 7" },
        { { StepKind::ClimbLadder, {}, {}, {}, { 1, true } },
            "Check the technique, then repeat with a new strip; one good value does not clear a shift, the coordinator finds its cause" },
        { { StepKind::ClimbLadder, {}, {}, {}, { 5, true } }, "Withdraw the meter and tell the coordinator" },
        { { StepKind::DecideWithdrawn }, "Coordinator: decide what follows" },
        { { StepKind::WithdrawAndTell }, "Withdraw it and tell the coordinator" },
        { { StepKind::LookItOver }, "Look it over" },
        { { StepKind::LookAtLotAndVials }, "Coordinator: look at the strip lot and the control vials first" },
    };
    for (const auto& [step, text] : kRows)
        EXPECT_EQ(stepSaid(step).toStdString(), text);
    EXPECT_EQ(ladderStepSaid({}), QString());
}

} // namespace
} // namespace mk::words
