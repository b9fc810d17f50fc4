// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/ward_simulator.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

namespace mk::test {

namespace {

constexpr std::int64_t kDayMs = 86'400'000;

double shownAs(double value, bool mmol)
{
    return mmol ? std::round(value * 10) / 10 : std::round(value);
}

class Simulation {
public:
    Simulation(const SimulatedWard& ward, const stats::UsualSettings& settings)
        : m_ward(ward),
          m_settings(settings),
          m_random(ward.seed),
          m_group(settings, {}, 5, ward.mmol ? stats::HalfLimit { 4.2, 0.335, 6 } : stats::HalfLimit {}),
          m_states(static_cast<std::size_t>(ward.meters)),
          m_result(static_cast<std::size_t>(ward.meters))
    {
        for (int meter = 0; meter < ward.meters; ++meter)
            m_offsets.push_back(ward.offsets * ward.cv * normal());
        for (int i = 0; i < ward.changed && ward.change; ++i)
            m_result[static_cast<std::size_t>(i)].changed = true;
    }

    std::vector<SimulatedMeter> run()
    {
        for (int day = 0; day < m_ward.days; ++day) {
            if (m_ward.lotDays > 0 && day % m_ward.lotDays == 0)
                newLot();
            for (std::size_t meter = 0; meter < m_states.size(); ++meter) {
                if (isDue(meter, day) && uniform() >= m_ward.missing)
                    control(meter, day);
                count(meter, day);
            }
        }
        return m_result;
    }

private:
    double normal() { return std::normal_distribution<double>()(m_random); }
    double uniform() { return std::uniform_real_distribution<double>()(m_random); }

    bool isDue(std::size_t meter, int day) const
    {
        const bool told = m_ward.whileTold > 0 && m_states[meter].told != stats::Way::None;
        return day % (told ? m_ward.whileTold : m_ward.every) == 0;
    }

    void newLot()
    {
        ++m_lot;
        for (double& step : m_lotStep)
            step = m_lot == 1 ? 0 : m_ward.lotSd * normal();
    }

    double changeOf(std::size_t meter, int day) const
    {
        if (!m_result[meter].changed || day < m_ward.change->day)
            return 0;
        const int since = day - m_ward.change->day;
        return m_ward.change->rampDays == 0
            ? m_ward.change->percent
            : m_ward.change->percent * std::min(1.0, static_cast<double>(since + 1) / m_ward.change->rampDays);
    }

    /// What the newest control lot reads on a day, in parts of the typed mean.
    double lotReads(std::size_t level, int day) const
    {
        const double sunk = m_ward.lotDays > 0 ? m_ward.sinks * (day % m_ward.lotDays) / m_ward.lotDays : 0;
        return (1 + m_lotStep[level] / 100) * (1 - sunk / 100);
    }

    stats::SetOnLots draw(std::size_t meter, int day)
    {
        stats::SetOnLots set { "M" + std::to_string(meter), day * kDayMs + static_cast<std::int64_t>(meter), "S", m_ward.alone };
        const double ofDay = m_ward.correlated > 0 ? std::sqrt(m_ward.correlated) * normal() : 0;
        for (int i = 0; i < m_ward.levels; ++i) {
            const std::size_t level = m_ward.levels == 1 || i == 1 ? 2 : 0;
            const double mean = (level == 0 ? 60.0 : 280.0) / (m_ward.mmol ? 18 : 1);
            const double base = mean * lotReads(level, day);
            const double off = ofDay + std::sqrt(1 - m_ward.correlated) * normal();
            double value = base * (1 + (m_offsets[meter] + changeOf(meter, day)) / 100) * (1 + m_ward.trueSd * m_ward.cv * off / 100);
            if (m_ward.wild > 0 && uniform() < m_ward.wild)
                value = base * (1 + (uniform() - 0.5) * 0.8);
            set.controls.push_back(
                { level, "C" + std::to_string(m_lot), stats::UsualReading::Kind::Number, shownAs(value, m_ward.mmol), m_ward.cv, mean });
        }
        return set;
    }

    void control(std::size_t meter, int day)
    {
        const stats::SetOnLots set = draw(meter, day);
        stats::UsualState& state = m_states[meter];
        const stats::UsualState before = state;
        const auto bases = m_group.basesFor(set);
        const auto judged = stats::judgeOnLots(state, set, bases, m_settings);
        m_group.learn(set, before);
        m_stops.resize(m_states.size());
        m_stops[meter] = judged.stop;
        if (m_result[meter].changed && day >= m_ward.change->day && !m_result[meter].firstBad)
            m_result[meter].firstBad = day - m_ward.change->day;
        if (!judged.set)
            return;
        stats::MeterStanding standing { set.at, set.stripLot };
        for (std::size_t level = 0; level < stats::kUsualLevels; ++level)
            standing.levels[level] = stats::standingOf(state.levels[level], "C" + std::to_string(m_lot), m_ward.cv, m_settings);
        m_group.stand(set.meter, std::move(standing));
        if (before.told == stats::Way::None && state.told != stats::Way::None)
            tellOf(m_result[meter], state, day);
    }

    void tellOf(SimulatedMeter& result, const stats::UsualState& state, int day) const
    {
        ++result.episodes;
        if (result.lotAtFirst || (result.changed && day < m_ward.change->day))
            return;
        result.lotAtFirst = state.lot;
        if (state.began)
            result.began = static_cast<int>(*state.began / kDayMs) - (result.changed ? m_ward.change->day : 0);
    }

    void count(std::size_t meter, int day)
    {
        SimulatedMeter& result = m_result[meter];
        m_stops.resize(m_states.size());
        const int since = result.changed ? day - m_ward.change->day : day;
        const bool told = m_states[meter].told != stats::Way::None, stopped = m_stops[meter] != stats::UsualStop::None;
        result.toldDays += told ? 1 : 0;
        result.lotDays += told && m_states[meter].lot ? 1 : 0;
        const bool named = told && !m_states[meter].lot;
        m_named.resize(m_states.size());
        result.meterSpells += named && !m_named[meter] ? 1 : 0;
        m_named[meter] = named;
        result.stoppedDays += stopped ? 1 : 0;
        if (told && since >= 0 && !result.told)
            result.told = since;
        if (stopped && since >= 0 && !result.stopped)
            result.stopped = since;
    }

    const SimulatedWard& m_ward;
    const stats::UsualSettings& m_settings;
    std::mt19937_64 m_random;
    stats::DriftGroup m_group;
    std::vector<stats::UsualState> m_states;
    std::vector<stats::UsualStop> m_stops;
    std::vector<SimulatedMeter> m_result;
    std::vector<bool> m_named; // as the one that moved, on the day before
    std::vector<double> m_offsets;
    double m_lotStep[stats::kUsualLevels] = { 0, 0, 0 };
    int m_lot = 0;
};

double partOfChanged(const std::vector<SimulatedMeter>& meters, std::optional<int> SimulatedMeter::*when, int days)
{
    const auto changed = std::ranges::count(meters, true, &SimulatedMeter::changed);
    const auto in = std::ranges::count_if(
        meters, [&](const SimulatedMeter& each) { return each.changed && each.*when && *(each.*when) <= days; });
    return static_cast<double>(in) / static_cast<double>(changed);
}

} // namespace

std::vector<SimulatedMeter> simulate(const SimulatedWard& ward, const stats::UsualSettings& settings)
{
    return Simulation(ward, settings).run();
}

FalseTells falseTells(const std::vector<SimulatedMeter>& meters, int days)
{
    FalseTells tells;
    double years = 0;
    for (const auto& each : meters) {
        if (each.changed)
            continue;
        tells.episodes += each.episodes;
        tells.toldDays += each.toldDays;
        tells.stoppedDays += each.stoppedDays;
        years += days / 365.0;
    }
    return { tells.episodes / years, tells.toldDays / years, tells.stoppedDays / years };
}

double toldWithin(const std::vector<SimulatedMeter>& meters, int days)
{
    return partOfChanged(meters, &SimulatedMeter::told, days);
}

double stoppedWithin(const std::vector<SimulatedMeter>& meters, int days)
{
    return partOfChanged(meters, &SimulatedMeter::stopped, days);
}

int toldAt(const std::vector<SimulatedMeter>& meters, double part)
{
    std::vector<int> days;
    for (const auto& each : meters)
        if (each.changed)
            days.push_back(each.told.value_or(1'000'000));
    std::ranges::sort(days);
    return days.at(std::min(days.size() - 1, static_cast<std::size_t>(part * static_cast<double>(days.size()))));
}

} // namespace mk::test
