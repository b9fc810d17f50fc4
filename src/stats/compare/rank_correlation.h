// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstdint>
#include <optional>
#include <span>

namespace mk::stats {

/// How two columns rise together, by their order alone.
/// concordant, discordant   pairs of points that both columns put in the same order, and in opposite ones; a tie in either is neither
/// tau                      Kendall's: (concordant - discordant) / all pairs of points; nothing with one point
struct RankCorrelation {
    std::uint64_t concordant = 0;
    std::uint64_t discordant = 0;
    std::optional<double> tau;

    /// More pairs of points rise than fall.
    bool rises() const { return concordant > discordant; }
};

/// x, y     [n >= 1], not reordered; ties are equal numbers
/// time     O(n log n)
/// errors   BadInput: columns of different lengths, no pairs or 2^32 and more, a number that is not finite
/// source   Kendall, Biometrika 1938;30:81 (tau, without a correction for ties, which has no answer where a column does not vary);
///          Knight, J Am Stat Assoc 1966;61:436 (by merge sort)
base::Result<RankCorrelation> rankCorrelation(std::span<const double> x, std::span<const double> y);

} // namespace mk::stats
