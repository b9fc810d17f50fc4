// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/basics/straight_line.h"

#include <cstddef>
#include <optional>

namespace mk::stats {

/// Jackknife uncertainty of a line of n pairs: SD of the pseudovalues over sqrt(n), as Linnet has it; t with n - 2.
/// whole            the line of all pairs
/// centre           the x about which it is told; the mean of x keeps it accurate
/// lineWithout(i)   the line without pair i, as an optional
/// returns          nothing below three pairs, or where a line is nothing
template <typename LineWithout>
std::optional<LineUncertainty> jackknifeLine(const StraightLine& whole, double centre, std::size_t pairs, LineWithout lineWithout)
{
    if (pairs < 3)
        return std::nullopt;
    double slopes = 0;
    double values = 0;
    double slopeSquares = 0;
    double valueSquares = 0;
    double products = 0;
    for (std::size_t i = 0; i < pairs; ++i) {
        const std::optional<StraightLine> line = lineWithout(i);
        if (!line)
            return std::nullopt;
        // Distances from the whole line are small, so their squares may be added up as they are.
        const double slope = line->slope - whole.slope;
        const double value = line->at(centre) - whole.at(centre);
        slopes += slope;
        values += value;
        slopeSquares += slope * slope;
        valueSquares += value * value;
        products += slope * value;
    }
    // Pseudovalues lie n - 1 times as far apart as the estimates without one pair; their variance is divided by n.
    const auto n = static_cast<double>(pairs);
    const double factor = (n - 1) / n;
    return LineUncertainty { centre, factor * (slopeSquares - slopes * slopes / n), factor * (valueSquares - values * values / n),
        factor * (products - slopes * values / n), n - 2 };
}

} // namespace mk::stats
