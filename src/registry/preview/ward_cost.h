// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/policy/drift_cost.h"

namespace mk::registry {

/// The ward as its last ninety days show it: its meters in service with what they were controlled with, and how far one meter's results
/// spread from day to day against what the targets say.
/// ward  none: all
base::Result<CostWard> costWard(Facts& facts, const Policy& policy, const std::optional<base::WardId>& ward, base::Moment at);

} // namespace mk::registry
