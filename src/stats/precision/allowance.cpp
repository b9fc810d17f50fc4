// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/allowance.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

bool usableLimit(const std::optional<double>& limit)
{
    return !limit || (std::isfinite(*limit) && *limit >= 0);
}

} // namespace

base::Done checkAllowance(const Allowance& allowance)
{
    if (!usableLimit(allowance.percent))
        return base::badInput("the allowed percentage must be 0 or more, such as 15");
    if (!usableLimit(allowance.absolute))
        return base::badInput("the allowed difference must be 0 or more, in the units of the data");
    return {};
}

std::optional<double> allowedAt(const Allowance& allowance, double value)
{
    if (!allowance.percent || (value == 0 && !allowance.absolute))
        return allowance.absolute;
    return std::max(allowance.absolute.value_or(0), *allowance.percent / 100 * std::abs(value));
}

bool withinAllowed(double distance, double allowed) noexcept
{
    constexpr double kRounding = 1e-9; // decimals as typed differ by far more
    return std::abs(distance) <= allowed * (1 + kRounding);
}

} // namespace mk::stats
