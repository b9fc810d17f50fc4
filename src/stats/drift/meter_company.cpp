// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/meter_company.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace mk::stats {

namespace {

constexpr std::size_t kFewestMoves = 2;

std::string bothLots(const std::string& stripLot, const std::string& controlLot)
{
    return stripLot + '\n' + controlLot;
}

} // namespace

void SortedValues::insert(double value)
{
    m_values.insert(std::ranges::upper_bound(m_values, value), value);
}

void SortedValues::erase(double value)
{
    const auto found = std::ranges::lower_bound(m_values, value);
    assert(found != m_values.end() && *found == value);
    m_values.erase(found);
}

std::optional<double> SortedValues::middle() const
{
    if (m_values.empty())
        return std::nullopt;
    const std::size_t half = m_values.size() / 2;
    return m_values.size() % 2 == 1 ? m_values[half] : (m_values[half - 1] + m_values[half]) / 2;
}

std::optional<MeterStanding::Level> standingOf(
    const UsualLevel& level, const std::string& controlLot, double cv, const UsualSettings& settings)
{
    if (level.count == 0)
        return std::nullopt;
    MeterStanding::Level stands { controlLot, level.slow };
    const auto newest = level.newestMean();
    if (newest && level.n >= kKnowsItself && cv > 0)
        stands.moved = (*newest - level.usual(settings)) / cv;
    return stands;
}

void MeterCompany::change(const MeterStanding& standing, void (SortedValues::*how)(double))
{
    for (std::size_t level = 0; level < kUsualLevels; ++level) {
        const auto& stands = standing.levels[level];
        if (!stands)
            continue;
        (m_slow[{ standing.stripLot, level }].*how)(stands->slow);
        if (stands->moved)
            (m_moved[{ bothLots(standing.stripLot, stands->controlLot), level }].*how)(*stands->moved);
    }
}

void MeterCompany::stand(const std::string& meter, MeterStanding standing)
{
    leave(meter);
    change(standing, &SortedValues::insert);
    m_byTime.emplace(standing.at, meter);
    m_meters.emplace(meter, std::move(standing));
}

void MeterCompany::leave(const std::string& meter)
{
    const auto found = m_meters.find(meter);
    if (found == m_meters.end())
        return;
    change(found->second, &SortedValues::erase);
    auto [first, last] = m_byTime.equal_range(found->second.at);
    m_byTime.erase(std::find_if(first, last, [&](const auto& each) { return each.second == meter; }));
    m_meters.erase(found);
}

void MeterCompany::expire(std::int64_t now)
{
    while (!m_byTime.empty() && m_byTime.begin()->first < now - kCompanyMs) {
        const std::string meter = m_byTime.begin()->second;
        leave(meter);
    }
}

double MeterCompany::slowOfOthers(const std::string& stripLot, std::size_t level) const
{
    const auto found = m_slow.find({ stripLot, level });
    if (found == m_slow.end() || static_cast<std::int64_t>(found->second.size()) + 1 < m_fewest)
        return 0;
    return found->second.middle().value_or(0);
}

std::size_t MeterCompany::othersOn(const std::string& stripLot, std::size_t level) const
{
    const auto found = m_slow.find({ stripLot, level });
    return found == m_slow.end() ? 0 : found->second.size();
}

std::optional<double> MeterCompany::moveOfOthers(const std::string& stripLot, const std::string& controlLot, std::size_t level) const
{
    const auto found = m_moved.find({ bothLots(stripLot, controlLot), level });
    if (found == m_moved.end() || found->second.size() < kFewestMoves)
        return std::nullopt;
    return found->second.middle();
}

} // namespace mk::stats
