// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/reasons.h"

#include "words/said.h"

#include <vector>

namespace mk::words {
namespace {

using namespace registry;
using test::expectTranslated;
using test::expectWhole;

base::Moment reasonsMoment(const char* text)
{
    return base::momentOf(base::parseTimeText(text)->wall, 60);
}

base::Decimal typed(const char* number)
{
    return base::Decimal::parse(number).value();
}

const std::vector<Level> kBoth { Level::Low, Level::High };

/// A code with facts of each sort that assess() may give it.
std::vector<Reason> everyReason()
{
    std::vector<Reason> all;
    for (const auto& row : reasonRows())
        all.push_back({ row.reason });
    const base::Moment at = reasonsMoment("2026-11-18T06:52"), since = reasonsMoment("2026-11-18T00:00");
    for (std::size_t state = 0; state < std::size(Words<MeterState>::all); ++state)
        for (const bool byItself : { false, true })
            all.push_back({ ReasonCode::NotInService, OutOfService { static_cast<MeterState>(state), at, byItself } });
    all.push_back({ ReasonCode::NotInService, NotYetInService {} });
    for (const auto& failed : { FailedLevel { Level::Low, typed("78"), {}, typed("74"), {}, { "1-3s" } },
             FailedLevel { Level::High, typed("250"), {}, {}, typed("270"), {} }, FailedLevel { Level::Low, High {}, {}, {}, {}, {} } })
        for (const int step : { 1, 2, 3, 4, 5 })
            all.push_back({ ReasonCode::ControlRejected,
                FailedControl { { failed }, step > 1 ? std::optional(LadderStanding { step, step == 3 }) : std::nullopt } });
    for (const ReasonCode code : { ReasonCode::RunInvalid, ReasonCode::NoControlYet })
        all.push_back({ code, LevelsToRun { kBoth } });
    all.push_back({ ReasonCode::SetPartial, MissingLevels { { Level::High }, kBoth } });
    all.push_back({ ReasonCode::ControlOverdue, IssuedUncontrolled { kBoth } });
    all.push_back({ ReasonCode::ControlOverdue, Overdue { at, {}, kBoth } });
    all.push_back({ ReasonCode::Transferred, MovedUncontrolled { base::WardId("W3"), base::WardId("W5"), kBoth } });
    for (const auto what : { Revocation::Of::StripLot, Revocation::Of::ControlLot, Revocation::Of::Vial })
        for (const auto stands : { LotEventKind::Quarantined, LotEventKind::Rejected })
            all.push_back({ ReasonCode::LotQuarantined, ClearanceLost { { what, "S1", stands, "N-7", {} }, kBoth } });
    for (const ReasonCode code :
        { ReasonCode::ControlOverdue, ReasonCode::ComparisonOverdue, ReasonCode::CalibrationOverdue, ReasonCode::CleaningOverdue })
        for (const auto policy : { std::optional<base::Moment>(), std::optional(since) })
            all.push_back({ code, Overdue { at, policy, {} } });
    for (const ReasonCode code : { ReasonCode::ControlDue, ReasonCode::ComparisonDue, ReasonCode::CalibrationDue, ReasonCode::CleaningDue })
        all.push_back({ code, DueAt { at } });
    all.push_back({ ReasonCode::StripVialExpired, VialRanOut { "V1", base::parseDate("2026-06-30").value() } });
    for (const auto& shares : { std::vector<TierShare>(), std::vector { TierShare { "15 %", 4, 5, 5 } } })
        for (const char* allowed : { "", "85 to 115 mg/dL" })
            all.push_back({ ReasonCode::ComparisonFailed, FailedComparison { shares, typed("120"), typed("100"), allowed } });
    for (const bool late : { false, true })
        all.push_back({ ReasonCode::EqaMissing, SampleOwed { "Ring", "2026-2", "7", at, late } });
    all.push_back({ ReasonCode::EqaDue, SampleOwed { "Ring", "2026-2", "7", at } });
    for (const auto& began : { std::optional<base::Date>(), std::optional(base::parseDate("2026-05-04").value()) })
        for (const bool beyond : { false, true })
            for (const double bias : { -5.2, 0.0, 5.2 }) {
                Drifting drift { { "EWMA", "CUSUM" }, acts::LevelBias { Level::Low, bias, bias, 5, beyond }, began, {}, beyond };
                if (bias == 0)
                    drift.bias.reset();
                all.push_back({ ReasonCode::Drift, drift, beyond });
            }
    for (const auto finding :
        { stats::DeviationFinding::Meter, stats::DeviationFinding::Lot, stats::DeviationFinding::Both, stats::DeviationFinding::Undecided })
        for (const std::size_t others : { 1u, 3u })
            all.push_back({ ReasonCode::LotEffect, LotEffect { finding, others, base::StripLotId("S1") } });
    all.push_back({ ReasonCode::LookBackOpen, WaitingLookback { since, at } });
    return all;
}

TEST(Reasons, EachCodeAndEachFactHasWholeSentences)
{
    for (const auto& reason : everyReason()) {
        SCOPED_TRACE(code(reason.code));
        EXPECT_FALSE(whatHappened(reason).isEmpty());
        expectWhole(reasonSaid(reason));
        EXPECT_TRUE(whatHappened(reason).endsWith(QLatin1Char('.'))) << whatHappened(reason).toStdString();
        EXPECT_TRUE(whatToDo(reason).isEmpty() || whatToDo(reason).endsWith(QLatin1Char('.'))) << whatToDo(reason).toStdString();
        EXPECT_TRUE(reasonSaid(reason).startsWith(whatHappened(reason)));
        EXPECT_TRUE(reasonSaid(reason).endsWith(whatToDo(reason)));
        EXPECT_FALSE(atTheSheet(reason.code).isEmpty());
    }
}

TEST(Reasons, NothingEscapesTranslation)
{
    const test::Pseudo pseudo;
    for (const auto& reason : everyReason()) {
        SCOPED_TRACE(code(reason.code));
        expectTranslated(reasonSaid(reason));
        expectTranslated(atTheSheet(reason.code));
        if (!onTheChart(reason.code).isEmpty())
            expectTranslated(onTheChart(reason.code));
    }
}

TEST(Reasons, WhatSomebodyTypedIsNotFilledAgain)
{
    const Reason moved { ReasonCode::Transferred, MovedUncontrolled { base::WardId("%2"), base::WardId("W5"), kBoth } };
    EXPECT_EQ(whatHappened(moved).toStdString(), "It came from ward %2 and was not controlled on ward W5 since.");
}

TEST(Reasons, AnUnknownCodeStandsForItself)
{
    EXPECT_EQ(atTheSheet("of-a-later-version"), QStringLiteral("of-a-later-version"));
    EXPECT_EQ(atTheSheet("strip-vial-expired"), atTheSheet(ReasonCode::StripVialExpired));
}

TEST(Reasons, AreFoundByTheirCodes)
{
    for (const auto& row : reasonRows())
        EXPECT_EQ(reasonOf(row.code), row.reason) << row.code;
    EXPECT_EQ(reasonOf("of-a-later-version"), std::nullopt);
}

/// As users and scripts have read them.
TEST(Reasons, SayInEnglishWhatTheyAlwaysSaid)
{
    const base::Moment at = reasonsMoment("2026-11-18T06:52");
    const std::pair<Reason, const char*> kRows[] = {
        { { ReasonCode::Dropped }, "It fell. Look it over, then run both levels." },
        { { ReasonCode::NotInService, OutOfService { MeterState::OnHold, at, true } },
            "On hold since Wed 18 Nov 2026, 06:52. An accepted control set ends the hold." },
        { { ReasonCode::NotInService, NotYetInService {} }, "It was not yet in service then." },
        { { ReasonCode::ControlRejected, FailedControl { { { Level::High, typed("362"), {}, typed("335"), {}, { "1-3s" } } }, {} } },
            "The high control read 362 mg/dL, above 335 (1-3s). Do not use it; check the technique and repeat with a new strip." },
        { { ReasonCode::ControlRejected, FailedControl { { { Level::Low, Low {}, {}, {}, {}, {} } }, LadderStanding { 3, false } } },
            "The low control read LO. Do not use it. Open a new control vial and run the level again." },
        { { ReasonCode::ControlOverdue, Overdue { at, {}, kBoth } },
            "The control is overdue since Wed 18 Nov 2026, 06:52. Run low and high before the next use." },
        { { ReasonCode::ControlOverdue, Overdue { at, reasonsMoment("2026-11-18T22:00"), kBoth } },
            "The control is overdue: by the policy in force since Wed 18 Nov 2026, 22:00 it was due at Wed 18 Nov 2026, 06:52. Run low and "
            "high before the next use." },
        { { ReasonCode::ComparisonFailed, FailedComparison { { { "15 %", 4, 5, 5 } }, typed("113"), typed("100"), "85 to 115 mg/dL" } },
            "The laboratory comparison failed: 4 of 5 pairs lie inside 15 %, at least 5 must; the meter read 113 where the laboratory "
            "found 100 (allowed 85 to 115 mg/dL). Compare again today with a new sample." },
        { { ReasonCode::Drift,
              Drifting { { "EWMA", "6x" }, acts::LevelBias { Level::Low, 3.1, 5.24, 6, true }, base::parseDate("2026-05-04").value(),
                  LotEffect { stats::DeviationFinding::Meter, 3, base::StripLotId("S1") }, true } },
            "It drifts upward since Mon 4 May 2026, an estimate: the low control reads +5.2 % from its mean (EWMA, 6x). The 3 other meters "
            "on strip lot S1 stand at the target: it is this meter. That is more than half of what a comparison allows: withdraw it and "
            "tell the coordinator." },
        { { ReasonCode::StripVialExpired, VialRanOut { "V1", base::parseDate("2026-06-30").value() } },
            "Strip vial V1 was good to Tue 30 Jun 2026. Open a new strip vial." },
        { { ReasonCode::LotQuarantined, ClearanceLost { { Revocation::Of::StripLot, "S1", LotEventKind::Quarantined, {}, {} }, kBoth } },
            "The last accepted control set was run with strip lot S1, which is quarantined. Run low and high with other materials." },
        { { ReasonCode::EqaMissing, SampleOwed { "Ring", "2026-2", "7", at, false } },
            "A proficiency sample was not returned by Wed 18 Nov 2026, 06:52: Ring 2026-2, sample 7. It counts as failed, score zero; "
            "compare the meter with the laboratory." },
        { { ReasonCode::LookBackOpen, WaitingLookback { at, at } },
            "Results from Wed 18 Nov 2026, 06:52 to Wed 18 Nov 2026, 06:52 wait for the coordinator's look-back." },
    };
    for (const auto& [reason, text] : kRows)
        EXPECT_EQ(reasonSaid(reason).toStdString(), text);
}

} // namespace
} // namespace mk::words
