// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace mk::stats {

// Signals are strict, and what lies within 1e-9 SD of a limit stands on it, so that binary rounding raises none.

/// Whether EWMA limits widen from the first observation on (exact), or stand at their final width (steady).
enum class EwmaLimits { Exact, Steady };

/// An EWMA chart in the units of the data; all three series are as long as the data.
/// signalled 1-based number of every observation whose average lies strictly outside its limits
struct EwmaChart {
    std::vector<double> lower;
    std::vector<double> upper;
    std::vector<double> values;
    std::vector<std::size_t> signalled;
};

/// A two-sided CUSUM chart in SD; both sums are >= 0 and as long as the data.
/// signalled 1-based number of every observation at which a sum is strictly above h; nothing restarts after one
/// began     the first observation of the excursion that first signalled, where its sum left 0; nothing without a signal
struct CusumChart {
    std::vector<double> high;
    std::vector<double> low;
    std::vector<std::size_t> signalled;
    std::optional<std::size_t> began;
};

/// The averages of ewmaChart alone, in the units of the data.
/// averages   as long as the values; receives the average after each
void ewmaAverages(std::span<const double> values, double target, double lambda, std::span<double> averages);

/// The sums of cusumChart alone, in SD.
/// high, low   as long as the values; receive both sums after each
void cusumSums(std::span<const double> values, double target, double sd, double k, std::span<double> high, std::span<double> low);

/// The exponentially weighted moving average of a whole series, started at the target.
/// values   [n], finite, oldest first; n may be 0
/// target   in the units of the data, finite; sd of one observation, > 0
/// lambda   the weight of the newest observation, 0 < lambda <= 1; width of the limits in SD of the average, > 0
/// source   handbook 6.2; e_i = lambda x_i + (1 - lambda) e_(i-1), limits target +- width sd sqrt(lambda/(2-lambda) (1-(1-lambda)^(2i)))
EwmaChart ewmaChart(std::span<const double> values, double target, double sd, double lambda, double width, EwmaLimits limits);

/// The tabular CUSUM of a whole series, both sums started at 0.
/// values, target, sd   as for ewmaChart
/// k, h     slack >= 0 and decision limit > 0, in SD
/// source   handbook 6.2; high_i = max(0, high_(i-1) + z_i - k), low_i = max(0, low_(i-1) - z_i - k)
CusumChart cusumChart(std::span<const double> values, double target, double sd, double k, double h);

/// What both charts are told; the defaults are those of handbook 6.2.
struct DriftSettings {
    double lambda = 0.2;
    double width = 3;
    double k = 0.5;
    double h = 4;
};

/// Both charts after n scores, in SD: what is carried from one set to the next. A new state starts a segment.
struct DriftState {
    double ewma = 0;
    std::int64_t n = 0;
    double cusumHigh = 0;
    double cusumLow = 0;

    friend bool operator==(const DriftState&, const DriftState&) = default;
};

/// Which charts lie strictly beyond their limits now.
struct DriftSignals {
    bool ewmaHigh = false;
    bool ewmaLow = false;
    bool cusumHigh = false;
    bool cusumLow = false;

    bool any() const noexcept { return ewmaHigh || ewmaLow || cusumHigh || cusumLow; }
    friend bool operator==(const DriftSignals&, const DriftSignals&) = default;
};

/// Takes one more score into the state, with exact EWMA limits, and says what it signals.
/// z   finite, in SD; of a set with several levels their combined score
DriftSignals advance(DriftState& state, double z, const DriftSettings& settings);

/// The scores of one set as one score that is standard normal when they are: their sum over the square root of their number.
/// z   [n >= 1], finite; source: handbook 6.2
double combinedScore(std::span<const double> z);

} // namespace mk::stats
