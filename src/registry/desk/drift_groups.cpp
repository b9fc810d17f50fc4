// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/drift_groups.h"

#include <algorithm>
#include <utility>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;

namespace {

/// The meter as it stood before a set that is on record: what its level had learned, and its usual value then.
stats::UsualState stateBefore(const SetRecord& set, const stats::UsualSettings& settings)
{
    stats::UsualState state;
    if (!set.judged.drift.usual)
        return state;
    for (const auto& level : set.judged.drift.usual->levels) {
        if (!level.learned || !level.usual)
            continue;
        auto& kept = state.levels[static_cast<std::size_t>(level.level)];
        kept.n = *level.learned;
        kept.sum = *level.usual * (settings.prior + static_cast<double>(kept.n)); // start 0: only the usual value is asked for
    }
    return state;
}

/// A base that no standing meter knows as frozen is made again from the first results on the lots.
Done readBase(
    Facts& facts, stats::DriftGroup& group, const stats::SetOnLots& set, const stats::ControlOnLots& control, const Policy& policy)
{
    const int most = static_cast<int>(policy.base.frozen) * 2; // some sets lack a level, or hold results that do not count
    const auto sets = facts.firstSetsOnLots(
        base::StripLotId(set.stripLot), base::ControlLotId(control.controlLot), Moment { set.at, 0 }, most);
    if (!sets)
        return sets.error();
    for (const auto& each : *sets) {
        stats::SetOnLots known = setOnLots(each.runs);
        if (known.stripLot != set.stripLot)
            continue;
        std::erase_if(known.controls,
            [&](const stats::ControlOnLots& other) { return other.level != control.level || other.controlLot != control.controlLot; });
        group.learn(known, stateBefore(each, policy.usualSettings()));
    }
    return {};
}

} // namespace

Result<DriftGroups::Kept> DriftGroups::read(Facts& facts, const base::ModelId& model, const stats::SetOnLots& set, const Policy& policy)
{
    const auto known = facts.model(model);
    const auto meters = facts.meters();
    const auto standings = facts.standings(model, base::MeterId(set.meter), Moment { set.at - stats::kCompanyMs, 0 }, Moment { set.at, 0 });
    if (!known)
        return known.error();
    if (!meters || !standings)
        return meters ? standings.error() : meters.error();
    const auto unit = *known == nullptr ? base::GlucoseUnit::MgPerDl : (*known)->act.unit;
    Kept kept { stats::DriftGroup(policy.usualSettings(), policy.base, policy.groupMeters, halfLimitOf(policy, unit)), policy.version,
        set.at };
    const auto ofModel = std::ranges::count_if(*meters, [&](const MeterRecord& meter) { return meter.act.model == model; });
    kept.fewMeters = ofModel < policy.base.meters;
    for (const auto& each : *standings) {
        kept.group.stand(each.meter.value, standingOf(each.finding, each.at, policy.usualSettings()));
        for (const auto& level : each.finding.levels)
            if (level.frozen)
                kept.group.base({ each.finding.stripLot.value, level.controlLot.value, static_cast<std::size_t>(level.level) })
                    .freeze(level.base, level.cv);
    }
    return kept;
}

Result<std::vector<stats::LevelBasis>> DriftGroups::basesFor(
    Facts& facts, const base::ModelId& model, const stats::SetOnLots& set, const Policy& policy)
{
    auto found = m_groups.find(model);
    if (found == m_groups.end() || found->second.policyVersion != policy.version || set.at < found->second.newestMs) {
        auto kept = read(facts, model, set, policy);
        if (!kept)
            return kept.error();
        found = m_groups.insert_or_assign(model, std::move(kept).value()).first;
    }
    Kept& kept = found->second;
    for (const auto& control : set.controls)
        if (!kept.group.knowsBase({ set.stripLot, control.controlLot, control.level }))
            if (const Done read = readBase(facts, kept.group, set, control, policy); !read)
                return read.error();
    stats::SetOnLots asked = set;
    asked.fewMeters = kept.fewMeters;
    return kept.group.basesFor(asked);
}

void DriftGroups::follow(const base::ModelId& model, const stats::SetOnLots& set, const stats::UsualState& before,
    const acts::UsualFinding& after, Moment at, const Policy& policy)
{
    const auto found = m_groups.find(model);
    if (found == m_groups.end())
        return;
    found->second.group.learn(set, before);
    if (after.score)
        found->second.group.stand(set.meter, standingOf(after, at, policy.usualSettings()));
    found->second.newestMs = std::max(found->second.newestMs, at.utcMs);
}

} // namespace mk::registry::desk
