// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/usual_drift.h"
#include "registry/facts/facts.h"

#include <utility>

namespace mk::registry {

/// What happened to a meter's usual value, oldest first: its boundaries, and that it was taken as it stands.
base::Result<std::vector<std::pair<base::Moment, UsualEvent>>> usualEventsOf(
    Facts& facts, const base::MeterId& meter, std::span<const SegmentBoundary> boundaries);

} // namespace mk::registry
