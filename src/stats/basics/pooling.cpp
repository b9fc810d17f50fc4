// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/pooling.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

Moments merged(const Moments& a, const Moments& b)
{
    if (a.n == 0 || b.n == 0)
        return a.n == 0 ? b : a;
    const auto na = static_cast<long double>(a.n);
    const auto nb = static_cast<long double>(b.n);
    const long double apart = static_cast<long double>(b.mean) - a.mean;
    const long double squares = static_cast<long double>(a.squares) + b.squares + apart * apart * na * nb / (na + nb);
    return { a.n + b.n, static_cast<double>((na * a.mean + nb * b.mean) / (na + nb)), static_cast<double>(squares), std::min(a.min, b.min),
        std::max(a.max, b.max) };
}

std::optional<double> sdOf(const Moments& block)
{
    if (block.n < 2)
        return std::nullopt;
    return std::sqrt(block.squares / static_cast<double>(block.n - 1));
}

} // namespace mk::stats
