// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

#include "stats/drift/meter_or_lot.h"

namespace mk::registry {

/// Is it the meter or the lot that deviates (handbook 7.2)? One answer over all levels, in words for people.
/// lots  the strip lot that the group shares
struct LotEffect {
    stats::DeviationFinding finding = stats::DeviationFinding::None;
    std::string text;
};

/// company  one part a level; the meter itself is never among its others
LotEffect lotEffectOf(std::span<const DriftCompany> company, const Policy& policy);

} // namespace mk::registry
