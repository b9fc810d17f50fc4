// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/paired_values.h"

#include "stats/basics/input_checks.h"
#include "stats/basics/paired_sums.h"

#include <cmath>
#include <string>

namespace mk::stats {

base::Done checkPairs(std::span<const double> x, std::span<const double> y, std::size_t least)
{
    if (x.size() != y.size())
        return base::badInput("the columns have %1 and %2 numbers; give both numbers of every pair", x.size(), y.size());
    if (x.size() < least)
        return x.size() == 1 ? base::badInput("there is 1 pair; give at least %1", least)
                             : base::badInput("there are %1 pairs; give at least %2", x.size(), least);
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!std::isfinite(x[i]) || !std::isfinite(y[i]))
            return base::badInput("pair %1 holds something that is not a finite number; correct it or leave it out", i + 1);
    }
    return {};
}

base::Fault faultOfPairs(std::span<const double> x, std::span<const double> y)
{
    const auto checked = checkPairs(x, y, 1);
    return checked ? tooFarApart() : checked.error();
}

base::Result<PairMoments> pairMoments(std::span<const double> x, std::span<const double> y)
{
    if (x.empty() || x.size() != y.size())
        return faultOfPairs(x, y);
    const std::size_t n = x.size();
    const double firstX = x[0];
    const double firstY = y[0];
    const auto sums = sumOverPairs<2>(n, [&](auto& to, std::size_t lane, std::size_t i) {
        to[0][lane] += x[i] - firstX;
        to[1][lane] += y[i] - firstY;
    });
    const auto count = static_cast<long double>(n);
    PairMoments moments;
    moments.n = n;
    moments.meanX = static_cast<double>(firstX + sums[0] / count);
    moments.meanY = static_cast<double>(firstY + sums[1] / count);
    const auto squares = sumOverPairs<5>(n, [&](auto& to, std::size_t lane, std::size_t i) {
        const double dx = x[i] - moments.meanX;
        const double dy = y[i] - moments.meanY;
        to[0][lane] += dx;
        to[1][lane] += dy;
        to[2][lane] += dx * dx;
        to[3][lane] += dy * dy;
        to[4][lane] += dx * dy;
    });
    moments.sxx = static_cast<double>(squares[2] - squares[0] * squares[0] / count);
    moments.syy = static_cast<double>(squares[3] - squares[1] * squares[1] / count);
    moments.sxy = static_cast<double>(squares[4] - squares[0] * squares[1] / count);
    if (!std::isfinite(moments.sxx) || !std::isfinite(moments.syy) || !std::isfinite(moments.sxy))
        return faultOfPairs(x, y);
    return moments;
}

} // namespace mk::stats
