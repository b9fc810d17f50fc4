// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>
#include <span>

/// Is it the meter or the lot? (handbook 7.2) A lot moves all meters on it, a fault moves one meter against the others.
namespace mk::stats {

/// What one meter's controls say in a window, of one level on one pair of lots.
/// n       results, >= 1
/// meanZ   the mean of their deviations from the target, in SD of single results
struct MeterDeviation {
    std::size_t n = 0;
    double meanZ = 0;
};

enum class DeviationFinding {
    None,     ///< neither this meter nor the group deviates
    Meter,    ///< this meter stands apart from the others, and they stand at the target
    Lot,      ///< the others deviate from the target, and this meter goes with them
    Both,     ///< the others deviate, and this meter stands apart from them
    Undecided ///< this meter deviates from the target, and too few meters or results tell why
};

/// An estimate in SD of single results.
/// interval   two-sided at the confidence of the settings
/// clear      at least the smallest deviation that matters, and its interval does not reach 0
struct DeviationEstimate {
    double estimate = 0;
    double standardError = 0;
    Interval interval;
    bool clear = false;
};

/// ofMeter       this meter from the target
/// fromOthers    this meter from the group of the others; ofGroup   the others from the target: nothing below two others
/// otherMeters, otherResults   how large that group is
struct MeterOrLot {
    DeviationFinding finding = DeviationFinding::None;
    DeviationEstimate ofMeter;
    std::optional<DeviationEstimate> fromOthers;
    std::optional<DeviationEstimate> ofGroup;
    std::size_t otherMeters = 0;
    std::size_t otherResults = 0;
};

/// leastMatters   the smallest deviation worth a finding, in SD, > 0
/// leastMeters    of the whole group, this meter counted (handbook 7.2)
/// leastResults   of the others
struct MeterOrLotSettings {
    double leastMatters = 1.0;
    double confidence = 0.95;
    std::size_t leastMeters = 5;
    std::size_t leastResults = 20;
};

/// meter    never a part of `others`, else a bad meter hides itself
/// others   [k >= 0] every other meter on the same lots and level, in any order
/// errors   BadInput: a meter without results, numbers that are not finite, settings out of bounds
/// method   the group is the median of the others' means, so one or two bad meters among them do not move it. A mean of n results varies by
///          sqrt(between^2 + 1/n); `between` is what the scaled median absolute deviation of the others' means shows beyond 1/n. The median
///          of k means varies by sqrt(pi/2) times the error of their mean. Intervals: Student's t with k - 1 (the meter alone: normal)
/// source   leaving the meter itself out and the least numbers: handbook 7.2; the rest is standard theory for normal results
base::Result<MeterOrLot> meterOrLot(
    const MeterDeviation& meter, std::span<const MeterDeviation> others, const MeterOrLotSettings& settings = {});

} // namespace mk::stats
