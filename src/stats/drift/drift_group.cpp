// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift_group.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace mk::stats {

DriftGroup::DriftGroup(const UsualSettings& usual, const BaseSettings& base, std::int64_t groupMeters, const HalfLimit& limit)
    : m_usual(usual),
      m_baseSettings(base),
      m_limit(limit),
      m_company(groupMeters)
{
}

LotBase& DriftGroup::base(const BaseKey& key)
{
    return m_bases.try_emplace(key, m_baseSettings).first->second;
}

/// Nothing where the level cannot be judged yet.
std::optional<LevelBasis> DriftGroup::basisOf(const ControlOnLots& control, const LotBase& base, bool fewMeters) const
{
    const bool tooFew = fewMeters
        || (base.results() >= m_baseSettings.inUse && static_cast<std::int64_t>(base.meters()) < m_baseSettings.meters);
    auto on = base.value();
    if (!on && tooFew)
        on = control.mean;
    const auto cv = control.cv ? control.cv : base.cvPercent();
    if (!on || !cv || *on <= 0 || *cv <= 0)
        return std::nullopt;
    return LevelBasis { control.level, *on, *cv, m_limit.percentAt(*on), base.isFrozen() };
}

std::vector<LevelBasis> DriftGroup::basesFor(const SetOnLots& set)
{
    m_company.leave(set.meter);
    m_company.expire(set.at);
    std::vector<LevelBasis> bases;
    for (const auto& control : set.controls) {
        auto basis = basisOf(control, base({ set.stripLot, control.controlLot, control.level }), set.fewMeters);
        if (!basis)
            continue;
        basis->othersSlow = m_company.slowOfOthers(set.stripLot, control.level);
        basis->others = m_company.othersOn(set.stripLot, control.level);
        basis->othersMove = m_company.moveOfOthers(set.stripLot, control.controlLot, control.level);
        bases.push_back(*basis);
    }
    return bases;
}

void DriftGroup::learn(const SetOnLots& set, const UsualState& before)
{
    for (const auto& control : set.controls)
        if (control.kind == UsualReading::Kind::Number)
            base({ set.stripLot, control.controlLot, control.level }).add(set.meter, control.value, before.levels[control.level], m_usual);
}

JudgedOnLots judgeOnLots(UsualState& state, const SetOnLots& set, std::span<const LevelBasis> bases, const UsualSettings& settings)
{
    JudgedOnLots judged;
    std::vector<UsualReading> readings;
    for (const auto& basis : bases) {
        const auto control = std::ranges::find(set.controls, basis.level, &ControlOnLots::level);
        assert(control != set.controls.end());
        readings.push_back({ basis.level, control->kind, control->value, basis.base, basis.cv, basis.limit });
    }
    if (readings.empty())
        return judged;
    judged.set = advance(state, readings, set.at, settings);
    std::vector<OthersMove> moves;
    for (std::size_t i = 0; i < bases.size(); ++i) {
        judgeApart(state, judged.set->levels[i], bases[i].othersSlow);
        moves.push_back({ judged.set->levels[i], bases[i].othersMove });
    }
    judged.stop = judgeCause(state, moves);
    return judged;
}

} // namespace mk::stats
