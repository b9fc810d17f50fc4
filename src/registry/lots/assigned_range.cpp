// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/assigned_range.h"

namespace mk::registry {

const RangeRecord* rangeInForce(std::span<const RangeRecord> ranges, const base::ControlLotId& control, Level level, base::Moment at,
    const std::optional<base::MeterId>& meter)
{
    const RangeRecord* inForce = nullptr;
    for (const auto& candidate : ranges) {
        const auto& range = candidate.act;
        if (range.controlLot != control || range.level != level || (range.from && *range.from > at)
            || (range.meter && range.meter != meter))
            continue;
        if (inForce != nullptr && inForce->act.meter.has_value() != range.meter.has_value()) {
            if (range.meter) // its own go before the group's
                inForce = &candidate;
            continue;
        }
        const bool newer = inForce == nullptr || !inForce->act.from || (range.from && *range.from >= *inForce->act.from);
        if (newer)
            inForce = &candidate;
    }
    return inForce;
}

} // namespace mk::registry
