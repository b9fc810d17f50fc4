// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/run_length.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

TEST(CusumRunLength, MeetsThePublishedTable)
{
    // Lucas & Crosier, Technometrics 1982, table 1 (three digits); NIST 6.3.2.3.1; recomputed to four decimals in the reference.
    const reference::ReferenceTable table("statistics/cusum_arl_k0.5.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double shift = table.number(row, "shift_in_SD");
        EXPECT_NEAR(cusumRunLength(0.5, 4, shift, CusumSides::One).value(), table.number(row, "calc_one_sided_h4"), 6e-5) << shift;
        EXPECT_NEAR(cusumRunLength(0.5, 5, shift, CusumSides::One).value(), table.number(row, "calc_one_sided_h5"), 6e-5) << shift;
        EXPECT_NEAR(cusumRunLength(0.5, 4, shift, CusumSides::Two).value(), table.number(row, "calc_two_sided_h4"), 6e-5) << shift;
        EXPECT_NEAR(cusumRunLength(0.5, 5, shift, CusumSides::Two).value(), table.number(row, "calc_two_sided_h5"), 6e-5) << shift;
        const double published = table.number(row, "pub_two_sided_h4_Lucas_Crosier");
        EXPECT_NEAR(cusumRunLength(0.5, 4, shift, CusumSides::Two).value() / published, 1, 5e-3) << shift;
    }
}

TEST(CusumRunLength, AgreesWithNistButForItsLastDigit)
{
    // Published facts, statistics/published_facts.csv: NIST prints 336 and 930 where 335.4 and 930.9 are right.
    EXPECT_NEAR(cusumRunLength(0.5, 4, 0, CusumSides::One).value(), 336, 1);
    EXPECT_NEAR(cusumRunLength(0.5, 5, 0, CusumSides::One).value(), 930, 1);
    EXPECT_NEAR(cusumRunLength(0.5, 4, 1, CusumSides::One).value(), 8.38, 0.005);
    EXPECT_NEAR(cusumRunLength(0.5, 5, 1, CusumSides::One).value(), 10.4, 0.05);
}

TEST(CusumRunLength, IsThatOfAShewhartChartWithoutMemory)
{
    // Analytic: with a slack of 3 SD and hardly a limit the CUSUM signals when one result is beyond 3 SD.
    EXPECT_NEAR(cusumRunLength(3, 1e-9, 0, CusumSides::One).value(), 2 / std::erfc(3 / std::sqrt(2.0)), 1e-4);
    EXPECT_NEAR(cusumRunLength(3, 1e-9, 0, CusumSides::Two).value(), 370.3983, 1e-4);
}

TEST(CusumRunLength, IsSymmetricWhereBothSidesAreRead)
{
    EXPECT_NEAR(cusumRunLength(0.5, 4, -0.7, CusumSides::Two).value(), cusumRunLength(0.5, 4, 0.7, CusumSides::Two).value(), 1e-9);
    // The side away from a large shift takes longer than doubles can say.
    EXPECT_NEAR(cusumRunLength(0.5, 10, 8, CusumSides::Two).value(), cusumRunLength(0.5, 10, 8, CusumSides::One).value(), 1e-9);
}

TEST(CusumRunLength, RefusesWhatItCannotCompute)
{
    EXPECT_FALSE(cusumRunLength(-0.1, 4, 0, CusumSides::One));
    EXPECT_FALSE(cusumRunLength(0.5, 0, 0, CusumSides::One));
    EXPECT_FALSE(cusumRunLength(0.5, std::nan(""), 0, CusumSides::One));
    EXPECT_FALSE(cusumRunLength(0.5, 4, 11, CusumSides::One));
    EXPECT_EQ(cusumRunLength(2, 30, 0, CusumSides::Two).error().text,
        "the average run length cannot be computed to six digits here; choose narrower limits");
}

TEST(EwmaRunLength, MeetsLucasAndSaccucci)
{
    // Technometrics 1990, table 3, three digits; recomputed to four decimals in the reference.
    const reference::ReferenceTable table("statistics/ewma_arl_lucas_saccucci_lambda0.5.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double length = ewmaRunLength(0.5, 3.071, table.number(row, "shift_in_SD")).value();
        EXPECT_NEAR(length, table.number(row, "calc"), 6e-5) << row;
        EXPECT_NEAR(length / table.number(row, "pub_lambda0.5_L3.071"), 1, 5e-3) << row;
    }
}

TEST(EwmaRunLength, MeetsCrowderButForTwoMisprints)
{
    // Technometrics 1987, table 1. At lambda 0.5 it prints 3.95 for 3.59 (shift 1.25) and 1.94 for 1.945 (shift 2).
    const reference::ReferenceTable table("statistics/ewma_arl_crowder.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const double shift = table.number(row, "shift_in_SD");
        EXPECT_NEAR(ewmaRunLength(0.5, 2, shift).value(), table.number(row, "calc_lambda0.5_L2"), 6e-5) << shift;
        EXPECT_NEAR(ewmaRunLength(0.05, 2, shift).value(), table.number(row, "calc_lambda0.05_L2"), 6e-5) << shift;
        EXPECT_NEAR(ewmaRunLength(0.05, 2, shift).value(), table.number(row, "pub_lambda0.05_L2"), 5.1e-3) << shift;
        if (shift != 1.25 && shift != 2.0) {
            EXPECT_NEAR(ewmaRunLength(0.5, 2, shift).value(), table.number(row, "pub_lambda0.5_L2"), 5.1e-3) << shift;
        }
    }
}

TEST(EwmaRunLength, MeetsTheCommonDesigns)
{
    // Analytic: statistics/ewma_arl_common_designs_analytic.csv.
    const reference::ReferenceTable table("statistics/ewma_arl_common_designs_analytic.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        EXPECT_NEAR(ewmaRunLength(table.number(row, "lambda"), table.number(row, "L"), table.number(row, "shift_in_SD")).value(),
            table.number(row, "calc_two_sided_fixed_limit_arl"), 6e-5)
            << row;
    }
}

TEST(EwmaRunLength, MeetsCrowdersCriticalValues)
{
    // Crowder, J Qual Technol 1989: widths for a run length of 250 without a shift, to four decimals in statistics/published_facts.csv.
    for (const auto& [lambda, width] :
        std::vector<std::pair<double, double>> { { 0.05, 2.3179 }, { 0.1, 2.5462 }, { 0.15, 2.6541 }, { 0.2, 2.7186 }, { 0.25, 2.7613 } })
        EXPECT_NEAR(ewmaRunLength(lambda, width, 0).value(), 250, 0.05) << lambda;
}

TEST(EwmaRunLength, IsThatOfAShewhartChartWithoutMemory)
{
    EXPECT_NEAR(ewmaRunLength(1, 3, 0).value(), 1 / std::erfc(3 / std::sqrt(2.0)), 1e-7);
    EXPECT_NEAR(ewmaRunLength(1, 3, 3).value(), 2, 1e-6);
    EXPECT_NEAR(ewmaRunLength(0.2, 3, -1).value(), ewmaRunLength(0.2, 3, 1).value(), 1e-9);
}

TEST(EwmaRunLength, RefusesWhatItCannotCompute)
{
    EXPECT_FALSE(ewmaRunLength(0, 3, 0));
    EXPECT_FALSE(ewmaRunLength(1.1, 3, 0));
    EXPECT_FALSE(ewmaRunLength(0.2, std::nan(""), 0));
    EXPECT_FALSE(ewmaRunLength(0.2, 3, INFINITY));
    EXPECT_FALSE(ewmaRunLength(0.2, 10, 0)); // some 1e22 results
    EXPECT_GT(ewmaRunLength(0.001, 3, 0).value(), 5000);
}

} // namespace mk::stats
