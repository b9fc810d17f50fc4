// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/pooling.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <span>
#include <vector>

namespace mk::stats {

namespace {

Moments blockOf(std::span<const double> values)
{
    return values.empty() ? Moments() : moments(values);
}

void expectSameBlock(const Moments& one, const Moments& other, double tolerance)
{
    EXPECT_EQ(one.n, other.n);
    EXPECT_NEAR(one.mean, other.mean, tolerance * (1 + std::abs(other.mean)));
    EXPECT_NEAR(one.squares, other.squares, tolerance * (1 + other.squares));
    EXPECT_EQ(one.min, other.min);
    EXPECT_EQ(one.max, other.max);
}

} // namespace

TEST(Merged, PoolsTheBlocksOfTheCholesterolControls)
{
    // cumulative_mean_sd_analytic.csv: four blocks of the twenty results, printed to six decimals.
    const reference::ReferenceTable blocks("statistics/cumulative_mean_sd_analytic.csv");
    const auto values = reference::ReferenceTable("statistics/mean_sd_cholesterol_20.csv").numbers("result_mg_dL");
    Moments pooled;
    Moments fromPrinted;
    for (std::size_t block = 0; block < blocks.size(); ++block) {
        const auto n = static_cast<std::size_t>(blocks.number(block, "n"));
        const double sd = blocks.number(block, "sd");
        const Moments own = blockOf(std::span(values).subspan(block * 5, n));
        EXPECT_NEAR(own.mean, blocks.number(block, "mean"), 1e-9);
        EXPECT_NEAR(sdOf(own).value(), sd, 5.1e-7);
        pooled = merged(pooled, own);
        fromPrinted = merged(fromPrinted, { n, blocks.number(block, "mean"), sd * sd * static_cast<double>(n - 1), own.min, own.max });
        EXPECT_EQ(static_cast<double>(pooled.n), blocks.number(block, "cum_n"));
        EXPECT_NEAR(pooled.mean, blocks.number(block, "cum_mean"), 5.1e-7);
        EXPECT_NEAR(sdOf(pooled).value(), blocks.number(block, "cum_sd"), 5.1e-7);
        EXPECT_NEAR(sdOf(fromPrinted).value(), blocks.number(block, "cum_sd"), 2e-6);
    }
    EXPECT_NEAR(pooled.squares, 70.95, 1e-12); // reference README, 5
}

TEST(Merged, IsTheSameHoweverTheResultsAreSplit)
{
    std::mt19937 random(4711);
    std::normal_distribution<double> results(5e6, 0.5); // mean / SD 10^7
    std::vector<double> values;
    for (int i = 0; i < 200; ++i)
        values.push_back(results(random));
    const Moments whole = blockOf(values);
    for (int repeat = 0; repeat < 100; ++repeat) {
        const std::size_t a = random() % 201;
        const std::size_t b = a + random() % (201 - a);
        const Moments one = blockOf(std::span(values).first(a));
        const Moments two = blockOf(std::span(values).subspan(a, b - a));
        const Moments three = blockOf(std::span(values).subspan(b));
        expectSameBlock(merged(merged(one, two), three), whole, 1e-9); // the means are rounded to 1e-9 of an SD
        expectSameBlock(merged(one, merged(two, three)), whole, 1e-9);
        expectSameBlock(merged(three, merged(two, one)), whole, 1e-9);
    }
}

TEST(Merged, HasNoSdBelowTwoResultsAndAnEmptyBlockChangesNothing)
{
    const Moments one = blockOf(std::vector<double> { 5.5 });
    EXPECT_FALSE(sdOf(one));
    EXPECT_FALSE(sdOf({}));
    expectSameBlock(merged({}, one), one, 0);
    expectSameBlock(merged(one, {}), one, 0);
    EXPECT_EQ(merged({}, {}).n, 0U);
    EXPECT_DOUBLE_EQ(sdOf(merged(one, blockOf(std::vector<double> { 5.75 }))).value(), std::sqrt(0.03125));
}

} // namespace mk::stats
