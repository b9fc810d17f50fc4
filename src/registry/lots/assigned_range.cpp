// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/assigned_range.h"

#include <algorithm>

namespace mk::registry {

namespace {

/// From then on it judges; none: from the beginning.
std::optional<base::Moment> heldSince(const acts::RangeAssigned& range)
{
    if (!range.typedAt || !range.from)
        return range.typedAt ? range.typedAt : range.from;
    return std::max(*range.typedAt, *range.from);
}

bool isAgain(const acts::RangeConfirmed& again, const acts::RangeAssigned& range)
{
    return again.controlLot == range.controlLot && again.level == range.level && again.low == range.low && again.high == range.high;
}

} // namespace

const RangeRecord* rangeInForce(std::span<const RangeRecord> ranges, const base::ControlLotId& control, Level level, base::Moment at,
    const std::optional<base::MeterId>& meter)
{
    const RangeRecord* inForce = nullptr;
    for (const auto& candidate : ranges) {
        const auto& range = candidate.act;
        const auto since = heldSince(range);
        if (range.controlLot != control || range.level != level || (since && *since > at) || (range.meter && range.meter != meter)
            || range.waits == YesNo::Yes)
            continue;
        if (inForce != nullptr && inForce->act.meter.has_value() != range.meter.has_value()) {
            if (range.meter) // its own go before the group's
                inForce = &candidate;
            continue;
        }
        const auto former = inForce == nullptr ? std::nullopt : heldSince(inForce->act);
        const bool newer = !former || (since && *since >= *former);
        if (newer)
            inForce = &candidate;
    }
    return inForce;
}

const RangeRecord* rangeThatWaits(std::span<const RangeRecord> ranges, const base::ControlLotId& control, Level level)
{
    const RangeRecord* newest = nullptr;
    for (const auto& each : ranges)
        if (each.act.waits == YesNo::Yes && each.act.controlLot == control && each.act.level == level)
            newest = &each;
    return newest;
}

void applyTyping(
    std::vector<RangeRecord>& ranges, std::span<const RangeRecord> typed, std::span<const Record<acts::RangeConfirmed>> confirmed)
{
    for (auto& range : ranges) {
        const auto said = std::ranges::find(typed, range.seq, &RangeRecord::seq);
        if (said == typed.end())
            continue;
        range.act.typedAt = said->act.typedAt;
        range.act.waits = said->act.waits;
        const auto again = std::ranges::find_if(
            confirmed, [&](const auto& each) { return each.seq > range.seq && isAgain(each.act, range.act); });
        if (range.act.waits != YesNo::Yes || again == confirmed.end())
            continue;
        range.act.waits.reset();
        range.act.typedAt = again->act.typedAt ? again->act.typedAt : again->act.at;
    }
}

} // namespace mk::registry
