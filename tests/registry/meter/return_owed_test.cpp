// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/return_owed.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

namespace mk::registry {
namespace {

using sample::at;

/// A stopped meter whose papers a test spoils one by one.
struct Stopped {
    std::vector<StopRecord> stops;
    std::vector<IncidentRecord> causes;
    std::vector<ReturnRecord> steps;
    std::vector<SetRecord> sets;
    std::optional<PairRecord> pair;
    MeterState state = MeterState::OnHold;
    std::optional<base::Moment> firmware;

    Stopped(const char* cause, IncidentKind kind, bool withdrawn)
    {
        stops.push_back({ { 3 }, { base::MeterId("M1"), at("2026-05-04T10:00"), withdrawn, cause, { 2 }, true, "policy 1" }, {}, {} });
        acts::IncidentReported incident;
        incident.at = at("2026-05-04T09:00");
        incident.what = kind;
        causes.push_back({ { 2 }, incident });
        state = withdrawn ? MeterState::Withdrawn : MeterState::OnHold;
    }
    void inspect(std::optional<std::string> detail = std::nullopt)
    {
        steps.push_back(
            { { 5 }, { at("2026-05-04T11:00"), base::MeterId("M1"), base::OperatorId("C1"), ReturnStepKind::Inspected, detail } });
    }
    void accept(const char* time)
    {
        SetRecord set;
        set.judged.lastAt = at(time);
        set.judged.verdict = Verdict::Accepted;
        sets.insert(sets.begin(), set);
    }
    void compare()
    {
        pair.emplace();
        pair->judged.at = at("2026-05-04T12:00");
        pair->judged.outcome = PairOutcome::Inside;
    }
    ReturnEvidence evidence() const
    {
        ReturnEvidence evidence { state, stops, causes, steps, sets, pair, {}, base::parseDate("2026-05-04").value(), true, firmware };
        evidence.person = OperatorRecord { { 1 }, { base::OperatorId("C1"), {}, Role::Coordinator, {}, {} } };
        return evidence;
    }
    std::string owed() const
    {
        std::string text;
        for (const auto& each : owedForReturn(evidence(), defaultPolicy()))
            text += (text.empty() ? "" : " ") + std::string(word(each.what));
        return text;
    }
    bool mayTake(ReturnStepKind step) const
    {
        return static_cast<bool>(mayTakeReturnStep(
            { at("2026-05-04T13:00"), base::MeterId("M1"), base::OperatorId("C1"), step, {} }, evidence(), defaultPolicy()));
    }
    bool maySign() const
    {
        return static_cast<bool>(mayTakeReturnStep(
            { at("2026-05-04T13:00"), base::MeterId("M1"), base::OperatorId("C1"), ReturnStepKind::Signed, "dried and mended" }, evidence(),
            defaultPolicy()));
    }
};

TEST(ReturnOwed, ShrinksStepByStepToTheSignature)
{
    Stopped meter("wet", IncidentKind::Wet, true);
    EXPECT_EQ(meter.owed(), "inspected controls-passed comparison-passed inspected-in-words signed");
    EXPECT_FALSE(meter.maySign());
    meter.inspect("dried, new battery door");
    EXPECT_EQ(meter.owed(), "controls-passed comparison-passed signed");
    meter.accept("2026-05-04T11:10");
    EXPECT_EQ(meter.owed(), "controls-passed comparison-passed signed") << "a withdrawn meter owes two sets";
    EXPECT_FALSE(meter.maySign());
    meter.accept("2026-05-04T11:30");
    EXPECT_EQ(meter.owed(), "comparison-passed signed");
    meter.compare();
    EXPECT_EQ(meter.owed(), "signed");
    EXPECT_TRUE(meter.maySign());
    EXPECT_EQ(owedForReturn(meter.evidence(), defaultPolicy()).back().by, ReturnBy::Coordinator);
}

TEST(ReturnOwed, SaysWhatMetAStepAndHowFarAnotherIs)
{
    Stopped meter("wet", IncidentKind::Wet, true);
    meter.inspect("dried, new battery door");
    meter.accept("2026-05-04T11:10");
    auto asked = askedForReturn(meter.evidence(), defaultPolicy());
    ASSERT_EQ(asked.size(), 5u);
    EXPECT_EQ(asked[0].metAt, at("2026-05-04T11:00"));
    EXPECT_EQ(asked[0].metBy, base::OperatorId("C1"));
    EXPECT_EQ(asked[1].metAt, std::nullopt);
    EXPECT_EQ(asked[1].setsMet, 1);
    EXPECT_EQ(asked[1].step.sets, 2);
    EXPECT_EQ(asked[2].metAt, std::nullopt);
    meter.accept("2026-05-04T11:30");
    meter.accept("2026-05-04T11:50");
    meter.compare();
    asked = askedForReturn(meter.evidence(), defaultPolicy());
    EXPECT_EQ(asked[1].metAt, at("2026-05-04T11:30")) << "by the set that completed the row, not by a later one";
    EXPECT_EQ(asked[1].setsMet, 2);
    EXPECT_EQ(asked[2].metAt, at("2026-05-04T12:00"));
    EXPECT_EQ(asked[4].metAt, std::nullopt) << "the signature ends it";
}

TEST(ReturnOwed, AsksForInspectionOnlyWhereAFallIsToldLate)
{
    // Handbook 17.14: dropped at 09:00, a good set at 09:30, told at 10:00.
    Stopped meter("dropped", IncidentKind::Dropped, false);
    meter.accept("2026-05-04T09:30");
    EXPECT_EQ(meter.owed(), "inspected signed");
}

TEST(ReturnOwed, AsksForTheCauseInWordsOfAWithdrawnMeter)
{
    Stopped meter("ladder-exhausted", IncidentKind::Dropped, true);
    meter.causes.clear();
    meter.accept("2026-05-04T11:00");
    meter.accept("2026-05-04T12:00");
    EXPECT_EQ(meter.owed(), "signed");
    EXPECT_FALSE(meter.mayTake(ReturnStepKind::Signed)) << "without a word";
    EXPECT_TRUE(meter.maySign());
}

TEST(ReturnOwed, AsksForACheckAfterAShift)
{
    Stopped meter("control-rejected", IncidentKind::Dropped, false);
    meter.causes.clear();
    EXPECT_EQ(meter.owed(), "controls-passed shift-checked signed");
    meter.accept("2026-05-04T11:00");
    EXPECT_EQ(meter.owed(), "shift-checked signed") << "one good set does not end it";
    EXPECT_FALSE(meter.maySign());
    EXPECT_FALSE(meter.mayTake(ReturnStepKind::LotChecked));
    EXPECT_FALSE(meter.mayTake(ReturnStepKind::GroupChecked)) << "not evaluable";
    acts::UsualFinding usual;
    usual.score = 0.1;
    for (const Level level : { Level::Low, Level::High }) {
        acts::UsualLevelFinding of;
        of.level = level;
        of.newest = { 1, 2, 3 };
        of.limit = 6;
        of.others = 5;
        of.othersSlow = -4;
        usual.levels.push_back(of);
    }
    auto& drift = meter.sets.front().judged.drift;
    drift.usual = usual;
    EXPECT_TRUE(meter.mayTake(ReturnStepKind::GroupChecked)) << "6 % off, and 6 % is on the limit";
    drift.usual->levels[1].newest = { 1, 2, 3.1 };
    EXPECT_FALSE(meter.mayTake(ReturnStepKind::GroupChecked)) << "one level beyond it";
    drift.usual->levels.pop_back();
    EXPECT_FALSE(meter.mayTake(ReturnStepKind::GroupChecked)) << "a level missing";
    meter.steps.push_back(
        { { 5 }, { at("2026-05-04T11:30"), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::GroupChecked, {} } });
    EXPECT_EQ(meter.owed(), "signed");
    meter.steps.clear();
    meter.compare();
    EXPECT_EQ(meter.owed(), "signed");
}

TEST(ReturnOwed, AsksForTheVersionOfNewSoftware)
{
    Stopped meter("software-changed", IncidentKind::SoftwareUpdated, false);
    meter.accept("2026-05-04T11:10");
    EXPECT_EQ(meter.owed(), "software-version signed");
    EXPECT_FALSE(meter.maySign());
    meter.firmware = at("2026-05-04T11:20");
    EXPECT_EQ(meter.owed(), "signed");
    EXPECT_TRUE(meter.maySign());
    EXPECT_EQ(owedForReturn(meter.evidence(), defaultPolicy()).back().by, ReturnBy::CompetentNurseOrCoordinator);
}

TEST(ReturnOwed, NamesNoSignatureWhereTheNextAcceptedSetEndsTheHold)
{
    Stopped meter("control-rejected", IncidentKind::Cleaned, false);
    meter.stops.front().stop.needsSignature = false;
    EXPECT_EQ(meter.owed(), "controls-passed");
}

TEST(ReturnOwed, IsNothingOnAMeterThatIsNotStopped)
{
    Stopped meter("dropped", IncidentKind::Dropped, false);
    meter.state = MeterState::InService;
    EXPECT_EQ(meter.owed(), "");
    EXPECT_FALSE(meter.maySign());
}

} // namespace
} // namespace mk::registry
