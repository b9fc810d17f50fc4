// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/decimal_grid.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::stats {

namespace {

std::vector<std::int64_t> gridX(const std::vector<double>& x)
{
    std::vector<std::int64_t> steps;
    for (const GridPoint& point : onDecimalGrid(x, x))
        steps.push_back(point.x);
    return steps;
}

using GridSteps = std::vector<std::int64_t>;

} // namespace

TEST(DecimalGrid, FindsTheFewestDecimals)
{
    EXPECT_EQ(gridX({ 5, -7, 0, 120 }), (GridSteps { 5, -7, 0, 120 }));
    EXPECT_EQ(gridX({ 0.1, 0.2, 0.3 }), (GridSteps { 1, 2, 3 }));
    EXPECT_EQ(gridX({ 5, 5.6, 5.67 }), (GridSteps { 500, 560, 567 }));
    EXPECT_EQ(gridX({ 1e-9, 123456.123456789 }), (GridSteps { 1, 123456123456789 }));
    EXPECT_EQ(gridX({}), GridSteps());
}

TEST(DecimalGrid, IsSharedByBothColumns)
{
    const auto points = onDecimalGrid(std::vector<double> { 5, 6 }, std::vector<double> { 5.5, 6 });
    EXPECT_EQ(points[0].x, 50);
    EXPECT_EQ(points[0].y, 55);
    EXPECT_EQ(points[1].y, 60);
}

TEST(DecimalGrid, FindsEveryDecimalAgain) // 6.2 as a double is 6.2000000000000002; so is what other programs print for it
{
    for (std::int64_t k = -20000; k <= 20000; k += 7) {
        const auto points = onDecimalGrid(std::vector<double> { static_cast<double>(k) / 1000, 0.001 }, std::vector<double> { 0, 0 });
        ASSERT_EQ(points[0].x, k);
    }
    EXPECT_EQ(gridX({ 999999999999999 }), (GridSteps { 999999999999999 }));
    EXPECT_EQ(gridX({ 99999999999999.9 }), (GridSteps { 999999999999999 }));
}

TEST(DecimalGrid, RoundsToAPowerOfTwoWhatNeedsMoreDigits)
{
    const double third = 1.0 / 3;
    const auto steps = gridX({ third, 2 * third, 1 });
    EXPECT_EQ(steps[2], 1LL << 51);
    EXPECT_NEAR(static_cast<double>(steps[1]), 2 * static_cast<double>(steps[0]), 1);
    EXPECT_EQ(gridX({ 1e300, -1e300, 1 })[2], 0);
    EXPECT_EQ(gridX({ 1e300, -1e300, 1 })[0], -gridX({ 1e300, -1e300, 1 })[1]);
    for (const double large : { 1e-320, 1e-5, 7e15, 1.7e308 }) {
        const auto both = gridX({ large, large / 3 });
        EXPECT_GE(both[0], large == 1e-5 ? 1 : 1LL << 51);
        EXPECT_LE(both[0], 1LL << 52);
        EXPECT_NEAR(static_cast<double>(both[1]), static_cast<double>(both[0]) / 3, 1e-3 * static_cast<double>(both[0]));
    }
}

} // namespace mk::stats
