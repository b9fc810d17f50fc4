// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "stats/basics/pooling.h"
#include "stats/basics/summary.h"

#include <cstddef>
#include <optional>

/// Where the mean and SD of control limits come from (handbook 6.1). Nothing here makes an SD out of a printed range, on purpose:
/// a range says what the maker allows, not how results scatter.
namespace mk::stats {

/// What the results gathered so far are enough for.
enum class LimitStage {
    Range,      ///< too few: only the printed range is checked
    Interim,    ///< a mean of their own, with the CV of the former lot
    Established ///< mean and SD of their own
};

inline constexpr std::size_t kInterimRuns = 10;     // and as many days
inline constexpr std::size_t kEstablishedRuns = 20; // and as many days

/// runs   valid results, out of limits or not; days   on how many different days
LimitStage limitStageFor(std::size_t runs, std::size_t days) noexcept;

/// Limits as they are proposed for signing; once signed they stand still.
/// sd        interim: the former lot's CV times the mean; established: of the results, n - 1
/// meanCi    t interval of the mean, sdCi chi-square interval of the SD: of established limits only
struct ControlLimits {
    LimitStage stage = LimitStage::Interim;
    std::size_t runs = 0;
    std::size_t days = 0;
    double mean = 0;
    double sd = 0;
    std::optional<Interval> meanCi;
    std::optional<Interval> sdCi;
};

/// Limits of a new lot of a product in use: its own mean, the CV carried over.
/// results           pooled over days and meters on the lot; days   on how many different days
/// formerCvPercent   of the former lot at this level, > 0
/// errors            Refused: fewer than 10 results or 10 days; BadInput: a mean or CV that is not above 0
/// source            handbook 6.1
base::Result<ControlLimits> interimLimits(const Moments& results, std::size_t days, double formerCvPercent);

/// Limits from results alone.
/// confidence   of both intervals, strictly between 0 and 1
/// errors       Refused: fewer than 20 results or 20 days, or results that do not vary; BadInput: a confidence out of bounds
/// source       handbook 6.1; the usual normal-theory intervals
base::Result<ControlLimits> establishedLimits(const Moments& results, std::size_t days, double confidence = 0.95);

/// Whether an SD is finer than the steps in which results are shown can tell: below step / sqrt(12) (handbook 6.3).
/// step   distance of two neighbouring readings, > 0, in the units of the SD
bool isFinerThanReadings(double sd, double step);

} // namespace mk::stats
