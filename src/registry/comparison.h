// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy.h"
#include "registry/records.h"

namespace mk::registry {

/// Judges one pair against the policy's limits; a breach of a pairing rule excludes it, with the reason (handbook 5.2, 5.4).
/// Limits refer to the laboratory value, bounds included, decimals compared exactly.
acts::PairJudged judgePair(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy);

} // namespace mk::registry
