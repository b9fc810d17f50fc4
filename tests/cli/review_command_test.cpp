// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/review_command.h"

#include <gtest/gtest.h>

namespace mk::cli {
namespace {

registry::MonthFigures oneMeter()
{
    registry::MonthFigures figures;
    figures.month = { 2026, 10 };
    figures.ward = base::WardId("W5");
    figures.cutOff = { 0, 60 };
    registry::MeterMonth meter;
    meter.meter = base::MeterId("M-07");
    meter.met = 28;
    meter.late = 2;
    meter.missed = 1;
    registry::LevelFigures level;
    level.level = registry::Level::High;
    level.stripLot = base::StripLotId("S2611");
    level.controlLot = base::ControlLotId("CH-419");
    level.n = 1;
    level.high = 1;
    level.mean = 294.5;
    meter.levels.push_back(level);
    figures.meters.push_back(meter);
    figures.totals.met = 28;
    figures.totals.late = 2;
    figures.totals.missed = 1;
    return figures;
}

// The keys of interface.md, and null for what there is too little of.
TEST(ReviewJson, HasTheKeysOfTheContract)
{
    const std::string json = reviewJson(oneMeter());
    for (const char* part :
        { R"("month":"2026-10","ward":"W5")", R"("meter":"M-07","levels":[{"level":"high","strip_lot":"S2611","control_lot":"CH-419")",
            R"("n":1,"excluded":1)", R"("mean":294.5,"sd":null,"cv_percent":null,"bias_percent":null,"sdi":null,"cv_ratio":null)",
            R"("rejected":0,"warned":0)", R"("required":31,"met":28,"late":2,"missed":1,"excused":0)" })
        EXPECT_NE(json.find(part), std::string::npos) << part << " in " << json;
}

TEST(ReviewJson, ShowsWhatWasLateUnprovenAndSigned)
{
    registry::MonthFigures figures = oneMeter();
    figures.meters.front().recordedLate = 2;
    figures.meters.front().unproven = 1;
    figures.meters.front().excused = 3;
    figures.meters.front().excusedAfterwards = 1;
    ReviewExtras extras;
    const base::Date first = base::parseDate("2026-10-03").value(), last = base::parseDate("2026-10-06").value();
    extras.patterns.push_back({ registry::PatternCode::SameValue,
        { .count = 4, .level = registry::Level::Low, .value = "60", .first = first, .last = last }, { "M-07" }, { { 12 }, { 14 } } });
    registry::SignedReview held;
    held.signature.seq = { 99 };
    held.signature.act.by = base::OperatorId("rook");
    held.signature.act.cutOff = base::Seq { 98 };
    held.signature.act.head = "aa";
    held.signature.act.meaning = "reviewed month";
    held.name = "J. Rook";
    held.later.push_back({ { 104 }, { 0, 60 }, "entry.corrected", "s1", "hale" });
    extras.signatures.push_back(held);
    const std::string json = reviewJson(figures, extras);
    for (const char* part :
        { R"("required":32,"met":28,"late":2,"missed":1,"excused":3,"excused_late":1,"excused_afterwards":1,"recorded_late":2,"unproven":1)",
            R"("code":"same-value","text":"M-07, low: 60 was recorded 4 times running, Sat 3 Oct 2026 to Tue 6 Oct 2026.","about":["M-07"],"evidence":[12,14])",
            R"("name":"J. Rook","operator":"rook")", R"("cut_off":98)", R"("content":"data changed since review")",
            R"("later":[{"seq":104,)", R"("totals":{"required":31)", R"("filters":"ward W5")" })
        EXPECT_NE(json.find(part), std::string::npos) << part << " in " << json;
    const std::string text = reviewText(figures, registry::defaultPolicy(), extras);
    EXPECT_NE(text.find("They say nothing about a cause or about anybody's work.\n  M-07, low"), std::string::npos) << text;
    EXPECT_NE(text.find("Signed by J. Rook on "), std::string::npos) << text;
    EXPECT_NE(text.find("data changed since review"), std::string::npos) << text;
    EXPECT_NE(text.find("later entry 104"), std::string::npos) << text;
}

TEST(ReviewJson, TellsWhatWasStoppedAndWhoEndedIt)
{
    store::ToldStop told;
    told.stop.seq = { 40 };
    told.stop.stop.meter = base::MeterId("M-07");
    told.stop.stop.cause = "control-rejected";
    told.stop.stop.because = { 39 };
    told.stop.endedAt = base::Moment { 3'600'000, 0 };
    told.stop.endedBy = base::Seq { 44 };
    told.stoppedBy = "moss";
    told.endedBy = "rook";
    ReviewExtras extras;
    extras.stops.push_back(told);
    const std::string json = reviewJson(oneMeter(), extras);
    EXPECT_NE(json.find(R"("stops":[{"meter":"M-07","state":"on-hold","at":)"), std::string::npos) << json;
    EXPECT_NE(json.find(R"("cause":"control-rejected","because":39,"stopped_by":"moss","seq":40,"ended_at":)"), std::string::npos) << json;
    EXPECT_NE(json.find(R"("ended_by":"rook","ended_seq":44)"), std::string::npos) << json;
    const std::string text = reviewText(oneMeter(), registry::defaultPolicy(), extras);
    EXPECT_NE(text.find("M-07 on hold"), std::string::npos) << text;
    EXPECT_NE(text.find("by rook."), std::string::npos) << text;
}

TEST(ReviewJson, AllWardsAreNoWard)
{
    registry::MonthFigures figures;
    figures.month = { 2026, 2 };
    EXPECT_NE(reviewJson(figures).find(R"("month":"2026-02","ward":null)"), std::string::npos);
}

TEST(ReviewText, BeginsWithTheAnswer)
{
    EXPECT_TRUE(reviewText(oneMeter(), registry::defaultPolicy())
                    .starts_with("Ward W5 met 28 of 31 controls in time, 90.3 %. No meter to watch.\n"));
}

} // namespace
} // namespace mk::cli
