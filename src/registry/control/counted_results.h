// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"

#include <vector>

namespace mk::registry {

/// The results that count in the sets whose last run lies in [from, to], as MeterSeries asks for them.
/// except  the set that is being judged
std::vector<CountedResult> countedResults(std::span<const SetRecord> sets, base::Moment from, base::Moment to, const base::SetId& except);

} // namespace mk::registry
