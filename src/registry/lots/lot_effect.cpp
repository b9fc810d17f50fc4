// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/lot_effect.h"

#include <algorithm>

namespace mk::registry {

namespace {

using stats::DeviationFinding;

} // namespace

LotEffect lotEffectOf(std::span<const DriftCompany> company, const Policy& policy)
{
    stats::MeterOrLotSettings settings;
    settings.leastMeters = static_cast<std::size_t>(policy.groupMeters);
    settings.leastResults = static_cast<std::size_t>(policy.groupResults);
    bool meter = false, lot = false, undecided = false;
    std::size_t others = 0;
    for (const auto& level : company) {
        std::vector<stats::MeterDeviation> group;
        for (const auto& each : level.others)
            group.push_back({ each.n, each.meanZ });
        const auto found = stats::meterOrLot({ level.own.n, level.own.meanZ }, group, settings);
        if (!found)
            continue;
        others = std::max(others, group.size());
        meter = meter || found->finding == DeviationFinding::Meter || found->finding == DeviationFinding::Both;
        lot = lot || found->finding == DeviationFinding::Lot || found->finding == DeviationFinding::Both;
        undecided = undecided || found->finding == DeviationFinding::Undecided;
    }
    LotEffect effect;
    effect.finding = meter && lot ? DeviationFinding::Both
        : meter                   ? DeviationFinding::Meter
        : lot                     ? DeviationFinding::Lot
        : undecided               ? DeviationFinding::Undecided
                                  : DeviationFinding::None;
    effect.others = others;
    if (!company.empty())
        effect.stripLot = company.front().stripLot;
    return effect;
}

} // namespace mk::registry
