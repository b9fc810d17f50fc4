// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/summary.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

namespace mk::stats {

namespace {

Summary summaryOf(const std::vector<double>& values, double confidence = 0.95)
{
    const auto summary = summarize(values, confidence);
    EXPECT_TRUE(summary) << summary.error().text;
    return summary ? *summary : Summary();
}

} // namespace

TEST(Summarize, DividesBySampleSizeLessOne)
{
    // Handbook 6.1: mean 100, SD 2.582, CV 2.58 %; 2.449 would be the SD with n.
    const Summary glucose = summaryOf({ 98, 102, 100, 97, 103, 101, 99, 100, 104, 96 });
    EXPECT_DOUBLE_EQ(glucose.mean, 100);
    EXPECT_NEAR(glucose.sd.value(), 2.582, 5e-4);
    EXPECT_NEAR(glucose.cvPercent.value(), 2.58, 5e-3);
    // and in mmol/L: mean 5.56, SD 0.1265, CV 2.28 %
    const Summary molar = summaryOf({ 5.4, 5.6, 5.5, 5.7, 5.6, 5.4, 5.5, 5.6, 5.8, 5.5 });
    EXPECT_NEAR(molar.mean, 5.56, 1e-12);
    EXPECT_NEAR(molar.sd.value(), 0.1265, 5e-5);
    EXPECT_NEAR(molar.cvPercent.value(), 2.28, 5e-3);
}

TEST(Summarize, MeetsTheCholesterolControls)
{
    // Toolkit module 7 annex; recomputed mean 190.45, SD 1.932411, CV 1.014655 %.
    const reference::ReferenceTable table("statistics/mean_sd_cholesterol_20.csv");
    const Summary summary = summaryOf(table.numbers("result_mg_dL"));
    EXPECT_EQ(summary.n, 20U);
    EXPECT_NEAR(summary.mean, 190.45, 1e-12);
    EXPECT_NEAR(summary.sd.value(), 1.932411, 5e-7);
    EXPECT_NEAR(summary.cvPercent.value(), 1.014655, 5e-7);
    EXPECT_EQ(summary.median, 190);
    EXPECT_EQ(summary.min, 188);
    EXPECT_EQ(summary.max, 194);
}

TEST(Summarize, MeetsThePooledBlocks)
{
    const reference::ReferenceTable results("statistics/mean_sd_cholesterol_20.csv");
    const reference::ReferenceTable blocks("statistics/cumulative_mean_sd_analytic.csv");
    const auto values = results.numbers("result_mg_dL");
    for (std::size_t block = 0; block < blocks.size(); ++block) {
        const auto end = static_cast<std::ptrdiff_t>((block + 1) * 5);
        const Summary own = summaryOf({ values.begin() + end - 5, values.begin() + end });
        const Summary pooled = summaryOf({ values.begin(), values.begin() + end });
        EXPECT_NEAR(own.mean, blocks.number(block, "mean"), 1e-9);
        EXPECT_NEAR(own.sd.value(), blocks.number(block, "sd"), 5.1e-7);
        EXPECT_NEAR(pooled.mean, blocks.number(block, "cum_mean"), 5.1e-7);
        EXPECT_NEAR(pooled.sd.value(), blocks.number(block, "cum_sd"), 5.1e-7);
    }
}

TEST(Summarize, MeetsTheConfidenceFactors)
{
    const reference::ReferenceTable table("statistics/sd_confidence_factors.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        std::vector<double> values;
        for (int i = 0; i < static_cast<int>(table.number(row, "N")); ++i)
            values.push_back(i % 7 * 1.3 + i * 0.01);
        const Summary at95 = summaryOf(values);
        const Summary at90 = summaryOf(values, 0.90);
        const double sd = at95.sd.value();
        EXPECT_NEAR(at95.sdCi->lower / sd, table.number(row, "sd_factor_lower_95"), 5.1e-6);
        EXPECT_NEAR(at95.sdCi->upper / sd, table.number(row, "sd_factor_upper_95"), 5.1e-6);
        EXPECT_NEAR(at90.sdCi->lower / sd, table.number(row, "sd_factor_lower_90"), 5.1e-6);
        EXPECT_NEAR(at90.sdCi->upper / sd, table.number(row, "sd_factor_upper_90"), 5.1e-6);
        EXPECT_NEAR((at95.meanCi->upper - at95.mean) / sd, table.number(row, "mean_halfwidth_95_in_SD"), 5.1e-6);
        EXPECT_NEAR((at95.mean - at95.meanCi->lower) / sd, table.number(row, "mean_halfwidth_95_in_SD"), 5.1e-6);
    }
}

TEST(Summarize, KeepsItsDigitsUnderALargeOffset)
{
    // Analytic, in the manner of the NIST StRD accuracy sets: 1001 values alternating 0.1 apart around 1e7 + 0.2 have SD 0.1.
    std::vector<double> values = { 10000000.2 };
    for (int i = 0; i < 500; ++i) {
        values.push_back(10000000.1);
        values.push_back(10000000.3);
    }
    const Summary summary = summaryOf(values);
    EXPECT_NEAR(summary.mean, 10000000.2, 2e-9);
    EXPECT_NEAR(summary.sd.value(), 0.1, 1e-9); // the values themselves are rounded by up to 1e-9
}

TEST(Summarize, HasNoSpreadBelowTwoValues)
{
    const Summary one = summaryOf({ 5.6 });
    EXPECT_EQ(one.n, 1U);
    EXPECT_EQ(one.mean, 5.6);
    EXPECT_EQ(one.median, 5.6);
    EXPECT_FALSE(one.sd || one.cvPercent || one.meanCi || one.sdCi);
}

TEST(Summarize, GivesNoCvAroundAMeanOfZero)
{
    const Summary summary = summaryOf({ -1, 1 });
    EXPECT_FALSE(summary.cvPercent);
    EXPECT_DOUBLE_EQ(summary.sd.value(), std::sqrt(2.0));
}

TEST(Summarize, ScalesAndShiftsWithTheData)
{
    const Summary plain = summaryOf({ 1, 4, 2, 8, 5, 7 });
    const Summary moved = summaryOf({ 105, 120, 110, 140, 125, 135 });
    EXPECT_NEAR(moved.mean, 5 * plain.mean + 100, 1e-12);
    EXPECT_NEAR(moved.sd.value(), 5 * plain.sd.value(), 1e-12);
    EXPECT_NEAR(moved.median, 5 * plain.median + 100, 1e-12);
    EXPECT_NEAR(moved.sdCi->upper, 5 * plain.sdCi->upper, 1e-11);
}

TEST(Summarize, RefusesWhatIsNotANumberAndSaysWhich)
{
    const auto text = [](const std::vector<double>& values, double confidence = 0.95) {
        const auto summary = summarize(values, confidence);
        return summary ? std::string() : summary.error().text;
    };
    EXPECT_EQ(text({ 1, std::nan(""), 3 }), "value 2 is not a finite number; correct it or leave it out");
    EXPECT_EQ(text({ std::numeric_limits<double>::infinity() }), "value 1 is not a finite number; correct it or leave it out");
    EXPECT_EQ(text({}), "there is no value; give at least one");
    EXPECT_NE(text({ 1, 2 }, 1), "");
    EXPECT_NE(text({ 1, 2 }, 0), "");
    EXPECT_NE(text({ 1, 2 }, std::nan("")), "");
}

// NIST/SEMATECH e-Handbook 6.3.2.2, individuals chart: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159 with d2 1.128.
TEST(Moments, MeetTheNistIndividuals)
{
    const reference::ReferenceTable table("statistics/nist_individuals.csv");
    const auto values = table.numbers("x");
    std::vector<double> ranges;
    for (std::size_t i = 1; i < values.size(); ++i) {
        ranges.push_back(std::abs(values[i] - values[i - 1]));
        EXPECT_NEAR(ranges.back(), table.number(i, "moving_range_printed"), 1e-9);
    }
    const double mean = moments(values).mean;
    const double range = moments(ranges).mean;
    EXPECT_NEAR(mean, 50.81, 1e-9);
    EXPECT_NEAR(range, 1.8778, 5e-5);
    EXPECT_NEAR(mean + 3 * range / 1.128, 55.8041, 5e-5);
    EXPECT_NEAR(mean - 3 * range / 1.128, 45.8159, 5e-5);
}

// A mean of a million SD. Reference: the same values around their mean, in long double.
TEST(Moments, KeepTwelveDigitsWhereTheMeanIsAMillionSd)
{
    std::mt19937 random(11);
    std::normal_distribution<double> normal;
    for (const std::size_t n : { 2U, 7U, 8U, 2047U, 2048U, 2049U, 100'003U }) {
        std::vector<double> values(n);
        std::ranges::generate(values, [&] { return 1e6 + normal(random); });
        long double sum = 0;
        for (const double value : values)
            sum += value - 1e6L;
        const long double mean = sum / static_cast<long double>(n);
        long double squares = 0;
        for (const double value : values)
            squares += (value - 1e6L - mean) * (value - 1e6L - mean);
        const Moments all = moments(values);
        EXPECT_NEAR(all.squares / static_cast<double>(squares), 1, 1e-12) << n;
        EXPECT_NEAR(all.mean, static_cast<double>(1e6L + mean), 1e-9) << n;
        EXPECT_EQ(all.min, *std::ranges::min_element(values));
        EXPECT_EQ(all.max, *std::ranges::max_element(values));
    }
}

TEST(Moments, HaveNoSpreadWhereAllValuesAreTied)
{
    for (const double value : { 0.1, -1e300, 1e-300, 0.0 }) {
        const std::vector<double> values(1001, value);
        EXPECT_EQ(moments(values).squares, 0) << value;
        EXPECT_EQ(moments(values).mean, value);
    }
}

TEST(Median, AveragesTheMiddleTwoAndLeavesTheInputAlone)
{
    const std::vector<double> values = { 9, 1, 4, 3 };
    EXPECT_EQ(median(values), 3.5);
    EXPECT_EQ(values, (std::vector<double> { 9, 1, 4, 3 }));
    EXPECT_EQ(median(std::vector<double> { 3, 1, 2 }), 2);
    EXPECT_EQ(median(std::vector<double> { 2, 2 }), 2);
}

} // namespace mk::stats
