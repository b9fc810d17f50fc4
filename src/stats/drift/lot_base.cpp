// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/lot_base.h"

#include "stats/basics/summary.h"

#include <cmath>
#include <vector>

namespace mk::stats {

namespace {

constexpr std::int64_t kFreedom = 20;

} // namespace

void LotBase::add(const std::string& meter, double value, const UsualLevel& level, const UsualSettings& settings)
{
    if (isFrozen())
        return;
    if (level.n >= kKnowsItself)
        value /= 1 + level.usual(settings) / 100;
    Sums& sums = m_meters[meter];
    ++sums.n;
    ++m_results;
    const double from = value - sums.mean;
    sums.mean += from / static_cast<double>(sums.n);
    sums.squares += from * (value - sums.mean);
}

std::optional<double> LotBase::value() const
{
    if (m_frozen)
        return m_frozen->first;
    if (m_results < m_settings.inUse || static_cast<std::int64_t>(m_meters.size()) < m_settings.meters)
        return std::nullopt;
    std::vector<double> means;
    for (const auto& [meter, sums] : m_meters)
        means.push_back(sums.mean);
    return median(means);
}

std::optional<double> LotBase::cvPercent() const
{
    if (m_frozen)
        return m_frozen->second;
    const auto base = value();
    const std::int64_t freedom = m_results - static_cast<std::int64_t>(m_meters.size());
    if (!base || *base <= 0 || freedom < kFreedom)
        return std::nullopt;
    double squares = 0;
    for (const auto& [meter, sums] : m_meters)
        squares += sums.squares;
    return 100 * std::sqrt(squares / static_cast<double>(freedom)) / *base;
}

bool LotBase::isFrozen() const
{
    return m_frozen || (m_results >= m_settings.frozen && static_cast<std::int64_t>(m_meters.size()) >= m_settings.meters);
}

} // namespace mk::stats
