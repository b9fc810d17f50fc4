// SPDX-License-Identifier: GPL-3.0-or-later
// What follows from failed controls, comparisons and incidents, and what a meter's file shows of it; handbook 1.5, 4.6 and 7.1.
#include "journeys/ladder_ward.h"

#include <QJsonArray>

namespace mk::journeys {

TEST(FailedControls, TheMetersFileShowsLadderClimbsNonconformitiesLookbacksAndPatterns)
{
    LadderWard ward;
    ward.world.run("S", "2026-05-04T07:00", Level::Low, "78", ward.onV7);
    const QJsonObject failed = ward.printed("2026-05-04T07:01");
    const QJsonObject ladder = failed.value(QLatin1String("ladder")).toObject();
    EXPECT_EQ(ladder.value(QLatin1String("step")).toInt(), 1);
    EXPECT_EQ(textIn(ladder, "next"), "Check the technique, then repeat with a new strip");
    EXPECT_GE(ladder.value(QLatin1String("technique")).toArray().size(), 20) << "the check list stands beside the first step";
    EXPECT_EQ(textIn(failed.value(QLatin1String("next")).toArray().first().toObject(), "what"),
        "Check the technique, then repeat with a new strip");

    Setting newControl = ward.onV7, newStrip = ward.onV7;
    newControl.low = newStrip.low = "L2";
    newStrip.strip = "V8";
    ward.world.run("S", "2026-05-04T07:04", Level::Low, "79", ward.onV7);
    ward.world.run("S", "2026-05-04T07:10", Level::Low, "80", newControl);
    ward.world.run("S", "2026-05-04T07:15", Level::Low, "81", newStrip);
    const base::Seq opened = ward.lookbacks().front().seq;
    auto closing = ward.closing(opened, "none in doubt", "2026-05-04T09:00");
    closing.reviewed = decimal("12"), closing.doubtful = decimal("0"), closing.informed = YesNo::No,
    closing.judgedBy = "laboratory director";
    ward.world.record(closing);

    const QJsonObject whole = ward.printed("2026-05-04T09:00");
    EXPECT_EQ(textIn(whole, "state"), "withdrawn");
    const QJsonObject climb = whole.value(QLatin1String("climbs")).toArray().first().toObject();
    EXPECT_EQ(climb.value(QLatin1String("attempts")).toInt(), 4);
    EXPECT_EQ(textIn(climb, "ended"), "ladder-exhausted");
    EXPECT_EQ(climb.value(QLatin1String("runs")).toArray().size(), 4);
    const QJsonArray ncs = whole.value(QLatin1String("nonconformities")).toArray();
    ASSERT_EQ(ncs.size(), 1);
    EXPECT_EQ(textIn(ncs.first().toObject(), "type"), "ladder-exhausted");
    EXPECT_EQ(textIn(ncs.first().toObject(), "state"), "open");
    const QJsonObject lookback = whole.value(QLatin1String("lookbacks")).toArray().first().toObject();
    EXPECT_FALSE(lookback.value(QLatin1String("open")).toBool(true));
    EXPECT_EQ(textIn(lookback, "direction"), "low control +35.0 %");
    EXPECT_EQ(textIn(lookback, "reviewed"), "12");
    EXPECT_EQ(textIn(lookback, "informed"), "no");
    EXPECT_EQ(textIn(lookback, "judged_by"), "laboratory director");
    EXPECT_TRUE(whole.value(QLatin1String("patterns")).isArray());
    EXPECT_TRUE(ward.printed("2026-05-03T12:00").value(QLatin1String("nonconformities")).toArray().isEmpty())
        << "at a time before it there was none";
}

TEST(FailedControls, DamageAndAWrongUnitAreLookedBackOnSinceTheLastGoodControl)
{
    LadderWard ward;
    ward.world.goTo("2026-05-03T15:00");
    ward.world.incident(IncidentKind::WrongUnit, "2026-05-03T15:00");
    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "wrong-unit");
    EXPECT_EQ(lookbacks.front().lookback.from, ward.world.at("2026-05-03T07:02"));
    EXPECT_EQ(lookbacks.front().lookback.to, ward.world.at("2026-05-03T15:00"));
    ward.world.goTo("2026-05-03T16:00");
    ward.world.incident(IncidentKind::BatteryChanged, "2026-05-03T16:00");
    EXPECT_EQ(ward.lookbacks().size(), 1U) << "a battery change asks for none";
}

TEST(FailedControls, AFailedComparisonRepeatedOpensANonconformityOnce)
{
    LadderWard ward;
    const auto pair = [&](const char* id, const char* time) {
        ward.world.goTo(time);
        acts::ComparisonRecorded a;
        a.pair = base::PairId(id), a.meter = kM1, a.meterAt = a.labAt = ward.world.at(time), a.by = base::OperatorId("C1");
        a.stripVial = base::StripVialId("V7");
        a.meterResult = parseReading("180").value(), a.labResult = parseReading("120").value(), a.unit = base::GlucoseUnit::MgPerDl;
        ward.world.record(a);
    };
    pair("P1", "2026-05-04T08:00");
    EXPECT_TRUE(ward.nonconformities().empty());
    pair("P2", "2026-05-04T09:00");
    pair("P3", "2026-05-04T10:00");
    const auto ncs = ward.nonconformities();
    ASSERT_EQ(ncs.size(), 1U);
    EXPECT_EQ(ncs.front().opened.type, "comparison-failed");
}

TEST(FailedControls, WrongUnitAndAFieldNoticeOpenNonconformities)
{
    LadderWard ward;
    ward.world.goTo("2026-05-04T08:00");
    ward.world.incident(IncidentKind::WrongUnit, "2026-05-04T08:00");
    ward.world.goTo("2026-05-04T08:05");
    ward.world.incident(IncidentKind::FieldNotice, "2026-05-04T08:05");
    const auto ncs = ward.nonconformities();
    ASSERT_EQ(ncs.size(), 2U);
    EXPECT_EQ(ncs[0].opened.type, "wrong-unit");
    EXPECT_NE(ncs[0].opened.description.find("Urgent"), std::string::npos);
    EXPECT_EQ(ncs[1].opened.type, "field-notice");
}

TEST(FailedControls, UseBetweenADropAndItsNoticeIsLookedBackOn)
{
    LadderWard ward;
    ward.world.goTo("2026-05-03T15:00");
    acts::IncidentReported drop { ward.world.at("2026-05-03T13:20"), ward.world.at("2026-05-03T15:00"), kM1, base::OperatorId("N1"),
        IncidentKind::Dropped, {} };
    drop.used = YesNo::Yes;
    ward.world.record(drop);
    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.from, ward.world.at("2026-05-03T13:20"));
    EXPECT_EQ(lookbacks.front().lookback.usedUntil, ward.world.at("2026-05-03T15:00"));
}

TEST(FailedControls, WithdrawingADriftingMeterOpensItsLookback)
{
    LadderWard ward(olderGround().policy);
    const char* kLows[] = { "62", "63", "63", "64", "63", "64", "64", "64", "64", "64" };
    for (int day = 0; day < 10; ++day) {
        const std::string date = "2026-05-" + std::string(day + 4 < 10 ? "0" : "") + std::to_string(day + 4);
        ward.world.runSet("D" + std::to_string(day), date + "T06:30", kLows[day], day < 2 ? "303" : "308", ward.onV7);
    }
    ASSERT_NE(reason(ward.world.fitness("2026-05-13T06:32"), "drift"), nullptr);
    EXPECT_TRUE(ward.lookbacks().empty()) << "a warning on the coordinator's list is no look-back yet";
    ward.world.goTo("2026-05-13T09:00");
    ward.world.record(
        acts::MeterMoved { ward.world.at("2026-05-13T09:00"), kM1, base::OperatorId("C1"), MeterState::Withdrawn, {}, "it drifts" });
    const auto lookbacks = ward.lookbacks();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().lookback.cause, "drift");
    EXPECT_LE(lookbacks.front().lookback.from, ward.world.at("2026-05-05T06:30"));
    EXPECT_EQ(lookbacks.front().lookback.to, ward.world.at("2026-05-13T09:00"));
    ASSERT_TRUE(lookbacks.front().lookback.alternativeFrom);
    EXPECT_LT(*lookbacks.front().lookback.alternativeFrom, lookbacks.front().lookback.from);
    ASSERT_TRUE(lookbacks.front().lookback.direction);
    EXPECT_NE(lookbacks.front().lookback.direction->find("high control +"), std::string::npos) << *lookbacks.front().lookback.direction;
}

TEST(FailedControls, AnInvalidRunIsNeitherAnAttemptNorAPass)
{
    LadderWard ward;
    ward.world.record(acts::StripLotReceived { base::StripLotId("S2"), base::ModelId("K1"), {}, {},
        base::parsePrintedDate("2030-12").value(), base::parsePeriod("90 d").value(), ward.world.at("2026-05-01T05:00"), {} });
    ward.world.run("S", "2026-05-04T06:50", Level::Low, "78", ward.onV7);
    Setting unknown = ward.onV7;
    ward.world.goTo("2026-05-04T06:51");
    ward.world.record(acts::OperatorEnrolled { base::OperatorId("N3"), "Nurse three", Role::Nurse, {}, {} });
    unknown.person = "N3"; // no competency on record
    const SetRecord invalid = ward.world.run("S", "2026-05-04T06:52", Level::Low, "62", unknown);
    EXPECT_FALSE(invalid.runs.back().judged.valid);
    EXPECT_EQ(ward.ladder("2026-05-04T06:52").rounds, 1);
    EXPECT_EQ(ward.ladder("2026-05-04T06:52").step, 1);
    EXPECT_EQ(ward.world.fitness("2026-05-04T06:52").state, MeterState::OnHold);
    EXPECT_EQ(ward.world.run("S", "2026-05-04T06:54", Level::Low, "61", ward.onV7).runs.size(), 3U);
}

TEST(FailedControls, TheTechniqueCheckTakesWordsOfItsListOnly)
{
    LadderWard ward;
    ward.world.goTo("2026-05-04T06:50");
    acts::TechniqueChecked check { ward.world.at("2026-05-04T06:50"), kM1, base::OperatorId("C1"), base::OperatorId("N1"),
        "strip-inserted cap-closed", {} };
    ward.world.record(check);
    check.found = "nonsense";
    EXPECT_NE(ward.world.refusalOf(check).find("control-mixed"), std::string::npos);
    EXPECT_GE(std::size(Words<TechniquePoint>::all), 20U);
}

} // namespace mk::journeys
