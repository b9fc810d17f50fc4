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
