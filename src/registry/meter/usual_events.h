// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/usual_drift.h"
#include "registry/facts/facts.h"

#include <span>
#include <vector>

namespace mk::registry {

/// What happened to a meter's usual value after one moment and up to another, oldest first.
/// boundaries, taken  its own, of any time: where its statistics began again, and when it was taken as it stands
base::Result<std::vector<UsualEvent>> usualEvents(Facts& facts, const base::MeterId& meter, std::span<const SegmentBoundary> boundaries,
    std::span<const base::Moment> taken, base::Moment after, base::Moment upTo);

} // namespace mk::registry
