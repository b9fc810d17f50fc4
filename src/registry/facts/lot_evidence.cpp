// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/facts/lot_evidence.h"

#include "base/unread.h"

#include <algorithm>

namespace mk::registry {

using base::Moment;
using base::Result;
using base::unread;

Result<LotVerification> verificationOf(Facts& facts, const base::StripLotId& lot, Moment at)
{
    LotVerification found;
    found.lot = lot.value;
    const auto confirmations = facts.facts<acts::RangeConfirmed>(lot.value);
    const auto controls = facts.facts<acts::LotControlChecked>(lot.value);
    auto samples = facts.facts<acts::LotSampleCompared>(lot.value);
    const auto lots = facts.lotIds();
    if (!confirmations || !controls || !samples || !lots)
        return unread("the verification of lot '%1' cannot be read; run verify", lot.value, confirmations, controls, samples, lots);
    for (const auto& each : *lots) {
        const auto control = facts.controlLot(base::ControlLotId(each));
        if (!control)
            return control.error();
        if (*control == nullptr)
            continue;
        const auto all = facts.ranges(lot);
        if (!all)
            return all.error();
        const auto* inForce = rangeInForce(**all, (*control)->lot.lot, (*control)->lot.level, at, std::nullopt);
        const Result<const RangeRecord*> range(
            inForce != nullptr ? inForce : rangeThatWaits(**all, (*control)->lot.lot, (*control)->lot.level));
        if (*range == nullptr)
            continue;
        const auto entry = facts.entry((*range)->seq);
        if (!entry)
            return entry.error();
        const bool confirmed = std::ranges::any_of(*confirmations, [&](const Record<acts::RangeConfirmed>& c) {
            return c.seq > (*range)->seq && c.act.controlLot == (*control)->lot.lot && c.act.level == (*control)->lot.level && *entry
                && confirms(c.act, **range, (*entry)->person).operator bool();
        });
        found.ranges.push_back({ **range, confirmed });
    }
    for (const auto& check : *controls) {
        const auto vial = facts.controlVial(check.act.controlVial);
        if (!vial)
            return vial.error();
        if (*vial != nullptr)
            found.controls.emplace_back(check, (*vial)->vial.lot);
    }
    found.samples = std::move(samples).value();
    return found;
}

} // namespace mk::registry
