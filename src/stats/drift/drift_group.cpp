// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/drift_group.h"

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
std::optional<UsualReading> DriftGroup::readingOf(const ControlOnLots& control, const LotBase& base, bool fewMeters) const
{
    const bool tooFew = fewMeters
        || (base.results() >= m_baseSettings.inUse && static_cast<std::int64_t>(base.meters()) < m_baseSettings.meters);
    auto on = base.value();
    if (!on && tooFew)
        on = control.mean;
    const auto cv = control.cv ? control.cv : base.cvPercent();
    if (!on || !cv || *on <= 0 || *cv <= 0)
        return std::nullopt;
    return UsualReading { control.level, control.kind, control.value, *on, *cv, m_limit.percentAt(*on) };
}

JudgedOnLots DriftGroup::judge(UsualState& state, const SetOnLots& set)
{
    JudgedOnLots judged;
    std::vector<UsualReading> readings;
    std::vector<const ControlOnLots*> controls;
    for (const auto& control : set.controls) {
        const auto reading = readingOf(control, base({ set.stripLot, control.controlLot, control.level }), set.fewMeters);
        if (!reading)
            continue;
        readings.push_back(*reading);
        controls.push_back(&control);
        judged.bases.push_back({ control.level, reading->base, reading->cv, reading->limit });
    }
    const UsualState before = state;
    if (!readings.empty()) {
        m_company.leave(set.meter);
        m_company.expire(set.at);
        judged.set = advance(state, readings, set.at, m_usual);
        MeterStanding standing { set.at, set.stripLot };
        for (std::size_t i = 0; i < readings.size(); ++i) {
            const LevelMove& move = judged.set->levels[i];
            judgeApart(state, move, m_company.slowOfOthers(set.stripLot, move.level));
            judged.others.push_back({ move, m_company.moveOfOthers(set.stripLot, controls[i]->controlLot, move.level) });
            standing.levels[move.level] = standingOf(state.levels[move.level], controls[i]->controlLot, move.cv, m_usual);
        }
        judged.stop = judgeCause(state, judged.others);
        m_company.stand(set.meter, std::move(standing));
    }
    for (const auto& control : set.controls)
        if (control.kind == UsualReading::Kind::Number)
            base({ set.stripLot, control.controlLot, control.level }).add(set.meter, control.value, before.levels[control.level], m_usual);
    return judged;
}

} // namespace mk::stats
