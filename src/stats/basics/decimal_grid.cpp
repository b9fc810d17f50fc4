// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/decimal_grid.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

namespace mk::stats {

namespace {

constexpr double kGridMostSteps = 1e15; // so the product below is off by less than a half, and the quotient rounds to the same double
constexpr int kGridMostDecimals = 22;   // the last power of ten that a double holds exactly

double gridLargest(std::span<const double> values)
{
    double largest = 0;
    for (const double value : values)
        largest = std::max(largest, std::abs(value));
    return largest;
}

bool isDecimalOf(double value, double power)
{
    return std::rint(value * power) / power == value;
}

/// The smallest power of ten that makes every number whole, beginning from `power`.
std::optional<double> wholePower(std::span<const double> values, double power, double largestPower)
{
    for (const double value : values) {
        while (!isDecimalOf(value, power)) {
            power *= 10;
            if (power > largestPower)
                return std::nullopt;
        }
    }
    return power;
}

template <typename Steps>
std::vector<GridPoint> gridOf(std::span<const double> x, std::span<const double> y, Steps steps)
{
    std::vector<GridPoint> points(x.size());
    for (std::size_t i = 0; i < x.size(); ++i)
        points[i] = { static_cast<std::int64_t>(steps(x[i])), static_cast<std::int64_t>(steps(y[i])) };
    return points;
}

} // namespace

std::vector<GridPoint> onDecimalGrid(std::span<const double> x, std::span<const double> y)
{
    const double largest = std::max(gridLargest(x), gridLargest(y));
    double largestPower = 1;
    for (int i = 0; i < kGridMostDecimals && largest * largestPower * 10 <= kGridMostSteps; ++i)
        largestPower *= 10;
    if (largest <= kGridMostSteps) {
        const auto powerX = wholePower(x, 1, largestPower);
        const auto power = powerX ? wholePower(y, *powerX, largestPower) : std::nullopt;
        if (power)
            return gridOf(x, y, [factor = *power](double value) { return std::rint(value * factor); });
    }
    const int exponent = 51 - std::ilogb(largest);
    return gridOf(x, y, [exponent](double value) { return std::rint(std::ldexp(value, exponent)); });
}

} // namespace mk::stats
