// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <span>
#include <vector>

/// Which assigned range judges a run: the one rule, asked by everybody who judges, shows, previews or questions a result.
namespace mk::registry {

/// The newest range that was in force then for control lot x level; what was set for this one meter goes before what holds for all.
/// ranges  of one strip lot, in the order of their entries
/// meter   none: the group's
/// returns null where there is none; else one of the ranges
const RangeRecord* rangeInForce(std::span<const RangeRecord> ranges, const base::ControlLotId& control, Level level, base::Moment at,
    const std::optional<base::MeterId>& meter);

/// The newest range of control lot x level that waits to be typed again by a second person; null where none does.
const RangeRecord* rangeThatWaits(std::span<const RangeRecord> ranges, const base::ControlLotId& control, Level level);

/// What a person typed holds from when it was typed, or confirmed: puts what the journal says of that into the ranges of one strip lot.
void applyTyping(
    std::vector<RangeRecord>& ranges, std::span<const RangeRecord> typed, std::span<const Record<acts::RangeConfirmed>> confirmed);

} // namespace mk::registry
