// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

/// A month's figures by person (handbook 7.2); for training, and for the coordinator. Pure.
namespace mk::registry {

/// From how many runs, and rejected ones, on a person's rate is compared with the ward's.
inline constexpr std::size_t kRunsForRate = 20, kRejectedForRate = 3;

struct OperatorMonth {
    base::OperatorId person;
    std::size_t runs = 0, rejected = 0, invalid = 0; ///< rejected: of the valid ones
    bool aboveTwiceWard = false;                     ///< rejects more than twice as often as the ward as a whole

    std::optional<double> rejectedPercent() const;
};

/// Who ran controls in the month on the ward (none: on all wards), by id.
std::vector<OperatorMonth> operatorMonths(
    std::span<const MonthMeterInput> meters, Month month, const std::optional<base::WardId>& ward, const Zone& zone);

} // namespace mk::registry
