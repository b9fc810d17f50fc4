// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include "stats/basics/interval.h"

#include <map>
#include <span>

/// Control limits as the ward's own results propose them; a coordinator accepts them, then they stand still (handbook 6.1).
namespace mk::registry {

/// One run on strip lot x control lot x level.
struct LimitResult {
    base::Moment at;
    base::MeterId meter;
    Reading result;
    bool valid = false;
    std::vector<std::string> invalidBecause {};
};

/// Established limits of the level on the lots before: their CV is carried over while there are few results.
struct FormerLimits {
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    base::Decimal mean, sd;
    double cvPercent() const { return 100.0 * sd.toDouble() / mean.toDouble(); }
};

struct LimitProposal {
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    Level level {};
    std::optional<base::MeterId> meter {}; ///< none: all meters on the lots
    Stage stage = Stage::Range;            ///< what the results are enough for
    std::size_t runs = 0, days = 0, meters = 0;
    std::size_t missingRuns = 0, missingDays = 0;          ///< to the next stage
    std::map<std::string, std::size_t> excluded {};        ///< by cause: an invalid run's codes, or that it shows no number
    std::optional<double> mean {}, sd {};                  ///< to full precision
    std::optional<base::Decimal> meanTyped {}, sdTyped {}; ///< as they would be recorded: one and two decimals more than the readings
    std::optional<stats::Interval> meanCi {}, sdCi {};
    std::optional<FormerLimits> former {};
    std::optional<RangeRecord> inForce {};
    /// For comparison only, no verdict changes: of these results, how many lie beyond 3 SD of either target; none where there is none.
    std::optional<std::size_t> beyondInForce {}, beyondProposed {};
    bool sdFinerThanReadings = false;   ///< the rules would tell steps of the display from one another, not results
    std::optional<base::Fault> note {}; ///< why there is nothing to accept, where there is not

    bool acceptable() const { return meanTyped && sdTyped && inForce && stage != Stage::Range; }
    std::size_t excludedCount() const;
};

/// Every valid result counts, out of limits or not; SD with n - 1 and never from the range.
LimitProposal proposeLimits(LimitProposal about, std::span<const LimitResult> results, const Zone& zone);

/// The proposal as it is recorded: the range stays that of the label. errors Refused where there is nothing to accept
base::Result<acts::RangeAssigned> acceptanceOf(const LimitProposal& proposal, base::Moment from, const std::string& reason);

} // namespace mk::registry
