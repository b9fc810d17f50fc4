// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/lot_effect.h"

#include <algorithm>

namespace mk::registry {

namespace {

using stats::DeviationFinding;

std::string effectInWords(DeviationFinding finding, std::size_t others, const std::string& lot)
{
    const std::string meters = std::to_string(others) + (others == 1 ? " other meter" : " other meters");
    switch (finding) {
    case DeviationFinding::Meter: return "The " + meters + " on strip lot " + lot + " stand at the target: it is this meter.";
    case DeviationFinding::Lot:
        return "The " + meters + " on strip lot " + lot
            + " deviate the same way: look at the strip lot and the control vials before the meter.";
    case DeviationFinding::Both:
        return "The " + meters + " on strip lot " + lot
            + " deviate too, and this meter stands apart from them: look at the lot and at the meter.";
    case DeviationFinding::Undecided:
        return "Too few other meters or results on strip lot " + lot + " tell whether it is the meter or the lot.";
    default: return {};
    }
}

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
    effect.text = effectInWords(effect.finding, others, company.empty() ? std::string() : company.front().stripLot.value);
    return effect;
}

} // namespace mk::registry
