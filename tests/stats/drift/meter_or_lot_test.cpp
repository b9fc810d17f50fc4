// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/meter_or_lot.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

namespace mk::stats {

namespace {

std::vector<MeterDeviation> metersAt(const std::vector<double>& means, std::size_t n = 16)
{
    std::vector<MeterDeviation> meters;
    for (const double mean : means)
        meters.push_back({ n, mean });
    return meters;
}

DeviationFinding findingOf(double meter, const std::vector<MeterDeviation>& others)
{
    return meterOrLot({ 16, meter }, others)->finding;
}

const std::vector<double> kAtTarget = { 0.1, -0.2, 0.15, -0.05, 0.2, 0 };
const std::vector<double> kMovedUp = { 2.1, 1.8, 2.15, 1.95, 2.2, 2 };

} // namespace

TEST(MeterOrLot, TellsTheMeterFromTheLot)
{
    EXPECT_EQ(findingOf(0.1, metersAt(kAtTarget)), DeviationFinding::None);
    EXPECT_EQ(findingOf(2.2, metersAt(kAtTarget)), DeviationFinding::Meter);
    EXPECT_EQ(findingOf(-2.2, metersAt(kAtTarget)), DeviationFinding::Meter);
    EXPECT_EQ(findingOf(2.2, metersAt(kMovedUp)), DeviationFinding::Lot);
    EXPECT_EQ(findingOf(4.2, metersAt(kMovedUp)), DeviationFinding::Both);
    EXPECT_EQ(findingOf(0, metersAt(kMovedUp)), DeviationFinding::Both);
}

TEST(MeterOrLot, IsUndecidedWhenTooFewMetersTellWhy)
{
    EXPECT_EQ(findingOf(2.2, {}), DeviationFinding::Undecided);
    EXPECT_EQ(findingOf(2.2, metersAt({ 0, 0.1, -0.1 })), DeviationFinding::Undecided); // four meters; five are asked for
    EXPECT_EQ(findingOf(2.2, metersAt(kAtTarget, 3)), DeviationFinding::Undecided);     // 18 results; 20 are asked for
    EXPECT_EQ(findingOf(0.2, {}), DeviationFinding::None);
    const MeterOrLot few = meterOrLot({ 16, 2.2 }, metersAt({ 0, 0.1, -0.1 })).value();
    EXPECT_TRUE(few.fromOthers && few.ofGroup); // the numbers are there, only the finding is not
    EXPECT_EQ(few.otherResults, 48U);
    EXPECT_FALSE(meterOrLot({ 16, 2.2 }, metersAt({ 0.1 }))->fromOthers);
}

TEST(MeterOrLot, IsUndecidedWhenTheMetersScatterMoreThanThisOneDeviates)
{
    EXPECT_EQ(findingOf(1.6, metersAt({ -1.4, 1.2, 0.4, -0.9, 1.3, 0.1 })), DeviationFinding::Undecided);
}

TEST(MeterOrLot, IsNotMisledByOneBadMeterAmongTheOthers)
{
    auto means = kAtTarget;
    means.push_back(40);
    const MeterOrLot healthy = meterOrLot({ 16, 0.1 }, metersAt(means)).value();
    EXPECT_EQ(healthy.finding, DeviationFinding::None);
    EXPECT_LT(std::abs(healthy.ofGroup->estimate), 0.2);
    EXPECT_EQ(findingOf(2.2, metersAt(means)), DeviationFinding::Meter);
}

TEST(MeterOrLot, ComputesWhatItSays)
{
    // Recomputed by hand: means 0, 0.2, 0.4, 1, 2 of 4 results: median 0.4, deviations 0.4 0.2 0 0.6 1.6, median 0.4; spread^2 = 0.16 x
    // 1.4826^2 = 0.351697; between 0.351697 - 0.25 = 0.101697; error of the centre sqrt(pi/2 x 0.351697 / 5).
    const MeterOrLot result = meterOrLot({ 25, 1.4 }, metersAt({ 2, 0, 0.4, 1, 0.2 }, 4)).value();
    const double spread = 0.16 * 1.482602218505602 * 1.482602218505602;
    const double centreError = std::sqrt(std::numbers::pi / 2 * spread / 5);
    EXPECT_DOUBLE_EQ(result.ofGroup->estimate, 0.4);
    EXPECT_NEAR(result.ofGroup->standardError, centreError, 1e-14);
    EXPECT_DOUBLE_EQ(result.fromOthers->estimate, 1);
    EXPECT_NEAR(result.fromOthers->standardError, std::sqrt(spread - 0.25 + 0.04 + centreError * centreError), 1e-14);
    EXPECT_NEAR(result.fromOthers->interval.upper, 1 + 2.7764451051978 * result.fromOthers->standardError, 1e-12); // t(4), any table
    EXPECT_NEAR(result.ofMeter.interval.lower, 1.4 - 1.959963984540054 / 5, 1e-12);
    EXPECT_EQ(result.otherMeters, 5U);
    EXPECT_EQ(result.otherResults, 20U);
}

TEST(MeterOrLot, TurnsWithTheSignAndDoesNotDependOnTheOrder)
{
    std::mt19937 random(31);
    std::normal_distribution<double> noise(0, 0.4);
    for (int repeat = 0; repeat < 50; ++repeat) {
        std::vector<double> means;
        for (int i = 0; i < 9; ++i)
            means.push_back(noise(random) + repeat % 3);
        const double meter = noise(random) * 5;
        const MeterOrLot plain = meterOrLot({ 12, meter }, metersAt(means)).value();
        std::shuffle(means.begin(), means.end(), random);
        std::ranges::transform(means, means.begin(), std::negate<>());
        const MeterOrLot turned = meterOrLot({ 12, -meter }, metersAt(means)).value();
        EXPECT_EQ(turned.finding, plain.finding);
        EXPECT_NEAR(turned.fromOthers->estimate, -plain.fromOthers->estimate, 1e-14);
        EXPECT_NEAR(turned.fromOthers->standardError, plain.fromOthers->standardError, 1e-14);
    }
}

TEST(MeterOrLot, SeldomBlamesAMeterThatIsAsGoodAsTheOthers)
{
    // A seeded simulation: 500 healthy groups of 8 meters with 10 results each; a deviation of 1 SD is 3 standard errors away.
    std::mt19937 random(32);
    std::normal_distribution<double> mean(0, std::sqrt(0.1));
    int blamed = 0;
    for (int group = 0; group < 500; ++group) {
        std::vector<double> means;
        for (int i = 0; i < 7; ++i)
            means.push_back(mean(random));
        blamed += meterOrLot({ 10, mean(random) }, metersAt(means, 10))->finding == DeviationFinding::Meter ? 1 : 0;
    }
    EXPECT_LE(blamed, 10);
}

TEST(MeterOrLot, SaysWhatIsWrong)
{
    EXPECT_FALSE(meterOrLot({ 0, 1 }, metersAt(kAtTarget)));
    EXPECT_FALSE(meterOrLot({ 5, std::nan("") }, metersAt(kAtTarget)));
    EXPECT_FALSE(meterOrLot({ 5, 1 }, metersAt({ 0, HUGE_VAL })));
    EXPECT_FALSE(meterOrLot({ 5, 1 }, metersAt(kAtTarget), { 0, 0.95, 5, 20 }));
    EXPECT_FALSE(meterOrLot({ 5, 1 }, metersAt(kAtTarget), { 1, 1, 5, 20 }));
}

} // namespace mk::stats
