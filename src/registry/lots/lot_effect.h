// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

#include "stats/drift/meter_or_lot.h"

namespace mk::registry {

/// Is it the meter or the lot that deviates (handbook 7.2)? One answer over all levels.
/// others    how many other meters were held against it
/// stripLot  that the group shares
struct LotEffect {
    stats::DeviationFinding finding = stats::DeviationFinding::None;
    std::size_t others = 0;
    base::StripLotId stripLot;
};

/// company  one part a level; the meter itself is never among its others
LotEffect lotEffectOf(std::span<const DriftCompany> company, const Policy& policy);

} // namespace mk::registry
