// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/normal_tail.h"

#include <cmath>
#include <numbers>

namespace mk::stats {

double normalAbove(double x)
{
    return 0.5 * std::erfc(x / std::numbers::sqrt2);
}

double normalBetween(double lower, double upper)
{
    if (lower > 0)
        return normalAbove(lower) - normalAbove(upper);
    if (upper < 0)
        return normalAbove(-upper) - normalAbove(-lower);
    return 1 - normalAbove(-lower) - normalAbove(upper);
}

double normalDensity(double x)
{
    return std::exp(-x * x / 2) * std::numbers::inv_sqrtpi / std::numbers::sqrt2;
}

} // namespace mk::stats
