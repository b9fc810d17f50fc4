// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_limits.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

namespace {

Moments limitResults(std::size_t n)
{
    std::vector<double> values;
    for (std::size_t i = 0; i < n; ++i)
        values.push_back(100 + (i % 2 == 0 ? 1.0 : -1.0));
    return moments(values);
}

Moments limitBlock(std::size_t n, double mean, double sd)
{
    return { n, mean, sd * sd * static_cast<double>(n - 1), mean, mean };
}

} // namespace

TEST(LimitStage, NeedsRunsAndDaysAlike)
{
    // Handbook 6.1: interim from 10 runs on 10 days, established from 20 on 20.
    EXPECT_EQ(limitStageFor(0, 0), LimitStage::Range);
    EXPECT_EQ(limitStageFor(9, 9), LimitStage::Range);
    EXPECT_EQ(limitStageFor(400, 9), LimitStage::Range);
    EXPECT_EQ(limitStageFor(10, 10), LimitStage::Interim);
    EXPECT_EQ(limitStageFor(400, 19), LimitStage::Interim);
    EXPECT_EQ(limitStageFor(19, 19), LimitStage::Interim);
    EXPECT_EQ(limitStageFor(20, 20), LimitStage::Established);
}

TEST(InterimLimits, CarryTheCvNotTheSd)
{
    const ControlLimits limits = interimLimits(limitResults(10), 10, 2.5).value();
    EXPECT_EQ(limits.stage, LimitStage::Interim);
    EXPECT_DOUBLE_EQ(limits.mean, 100);
    EXPECT_DOUBLE_EQ(limits.sd, 2.5);
    EXPECT_FALSE(limits.meanCi || limits.sdCi);
    EXPECT_DOUBLE_EQ(interimLimits(limitBlock(10, 5.6, 0.4), 10, 2.5)->sd, 0.14);
}

TEST(InterimLimits, RefuseTooFewAndACvOfNothing)
{
    EXPECT_EQ(interimLimits(limitResults(9), 9, 2.5).error().kind, base::FaultKind::Refused);
    EXPECT_EQ(interimLimits(limitResults(30), 9, 2.5).error().text,
        "interim limits need 10 results on 10 days; there are 30 on 9. Until then the range is checked");
    EXPECT_EQ(interimLimits(limitResults(12), 13, 2.5).error().text, "12 results cannot lie on 13 days");
    for (const double cv : { 0.0, -1.0, std::nan(""), HUGE_VAL })
        EXPECT_FALSE(interimLimits(limitResults(10), 10, cv)) << cv;
    EXPECT_FALSE(interimLimits(limitBlock(10, 0, 1), 10, 2.5));
}

TEST(EstablishedLimits, MeetTheCholesterolControls)
{
    // mean_sd_cholesterol_20.csv: mean 190.45, SD 1.932411; factors of N 20 in sd_confidence_factors.csv.
    const auto values = reference::ReferenceTable("statistics/mean_sd_cholesterol_20.csv").numbers("result_mg_dL");
    const ControlLimits limits = establishedLimits(moments(values), 20).value();
    EXPECT_EQ(limits.stage, LimitStage::Established);
    EXPECT_NEAR(limits.mean, 190.45, 1e-12);
    EXPECT_NEAR(limits.sd, 1.932411, 5e-7);
    const reference::ReferenceTable factors("statistics/sd_confidence_factors.csv");
    for (std::size_t row = 0; row < factors.size(); ++row) {
        if (factors.number(row, "N") != 20)
            continue;
        EXPECT_NEAR(limits.sdCi->lower / limits.sd, factors.number(row, "sd_factor_lower_95"), 5.1e-6);
        EXPECT_NEAR(limits.sdCi->upper / limits.sd, factors.number(row, "sd_factor_upper_95"), 5.1e-6);
        EXPECT_NEAR((limits.meanCi->upper - limits.mean) / limits.sd, factors.number(row, "mean_halfwidth_95_in_SD"), 5.1e-6);
    }
}

TEST(EstablishedLimits, RefuseTooFewAndNoSpread)
{
    EXPECT_EQ(establishedLimits(limitResults(19), 19).error().text,
        "established limits need 20 results on 20 days; there are 19 on 19. Until then the range is checked");
    EXPECT_FALSE(establishedLimits(limitResults(100), 19));
    EXPECT_FALSE(establishedLimits(limitBlock(20, 100, 0), 20));
    EXPECT_FALSE(establishedLimits(limitResults(20), 20, 1));
    EXPECT_TRUE(establishedLimits(limitResults(20), 20));
}

TEST(FinerThanReadings, IsBelowTheStepOverRootTwelve)
{
    // Handbook 6.3: at steps of 0.1 mmol/L an SD under about 0.03 is not believable.
    EXPECT_TRUE(isFinerThanReadings(0.028, 0.1));
    EXPECT_FALSE(isFinerThanReadings(0.03, 0.1));
    EXPECT_TRUE(isFinerThanReadings(0, 1));
}

} // namespace mk::stats
