// SPDX-License-Identifier: GPL-3.0-or-later
// What it costs to judge one more set of 2,000 meters that drift, after two years and after two months, in turn: nothing of the past may be
// walked over.
//   ward_cost_bench [meters, 2000]
#include "stats/drift/drift_group.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <random>
#include <string>
#include <vector>

namespace mk::bench {

namespace {

constexpr std::int64_t kDayMs = 86'400'000;
constexpr int kLotDays = 90;
constexpr double kCv = 3;

/// Meters that each go their own way, a set of two levels a day, new lots every 90 days.
class DriftingMeters {
public:
    explicit DriftingMeters(int meters) : m_group(m_settings, {}, 5, {})
    {
        std::normal_distribution<double> normal;
        for (int i = 0; i < meters; ++i)
            m_meters.push_back({ "M" + std::to_string(i), normal(m_random) * kCv / 2, normal(m_random) * 3 / 365, {} });
    }

    void runUntil(int day)
    {
        while (m_day < day)
            judge(nextDay());
    }
    /// The sets of all meters on one more day.
    std::vector<stats::SetOnLots> nextDay()
    {
        std::vector<stats::SetOnLots> sets;
        for (std::size_t i = 0; i < m_meters.size(); ++i)
            sets.push_back(setOf(i));
        ++m_day;
        return sets;
    }
    void judge(const std::vector<stats::SetOnLots>& sets)
    {
        for (std::size_t i = 0; i < sets.size(); ++i)
            judgeOne(sets[i], m_meters[i].state);
    }
    int told() const
    {
        return static_cast<int>(std::ranges::count_if(m_meters, [](const Meter& meter) { return meter.state.told != stats::Way::None; }));
    }

private:
    struct Meter {
        std::string name;
        double offset = 0, perDay = 0; // percent
        stats::UsualState state {};
    };

    stats::SetOnLots setOf(std::size_t i)
    {
        std::normal_distribution<double> normal;
        const Meter& meter = m_meters[i];
        const std::string lot = std::to_string(m_day / kLotDays);
        stats::SetOnLots set { meter.name, m_day * kDayMs + static_cast<std::int64_t>(i) * 10'000, "S" + lot };
        for (const std::size_t level : { std::size_t(0), std::size_t(2) }) {
            const double mean = level == 0 ? 60 : 280;
            const double off = meter.offset + meter.perDay * m_day + kCv * normal(m_random);
            set.controls.push_back({ level, "C" + lot, stats::UsualReading::Kind::Number, std::round(mean * (1 + off / 100)), kCv, mean });
        }
        return set;
    }
    void judgeOne(const stats::SetOnLots& set, stats::UsualState& state)
    {
        const stats::UsualState before = state;
        const auto judged = stats::judgeOnLots(state, set, m_group.basesFor(set), m_settings);
        m_group.learn(set, before);
        if (!judged.set)
            return;
        stats::MeterStanding standing { set.at, set.stripLot };
        for (const auto& control : set.controls)
            standing.levels[control.level] = stats::standingOf(state.levels[control.level], control.controlLot, kCv, m_settings);
        m_group.stand(set.meter, std::move(standing));
    }

    stats::UsualSettings m_settings {};
    stats::DriftGroup m_group;
    std::mt19937_64 m_random { 1 };
    std::vector<Meter> m_meters;
    int m_day = 0;
};

/// Of the day that is next.
double microsecondsASet(DriftingMeters& meters)
{
    const auto sets = meters.nextDay();
    const std::clock_t start = std::clock();
    meters.judge(sets);
    return 1e6 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC / static_cast<double>(sets.size());
}

void report(int meters)
{
    constexpr int kMonths = 60, kYears = 730;
    DriftingMeters young(meters), old(meters);
    young.runUntil(kMonths);
    old.runUntil(kYears);
    std::printf("%d meters; told of: %d after %d days, %d after %d\n", meters, young.told(), kMonths, old.told(), kYears);
    // Every call takes a day that was made before; the pairs stay within the lots of both. Time of the processor, which others on the
    // machine change little.
    constexpr int kPairs = 15;
    std::vector<double> youngs, olds, ratios;
    for (int pair = -1; pair < kPairs; ++pair) {
        const double a = microsecondsASet(old), b = microsecondsASet(young);
        if (pair < 0)
            continue;
        olds.push_back(a);
        youngs.push_back(b);
        ratios.push_back(a / b);
    }
    for (auto* each : { &youngs, &olds, &ratios })
        std::ranges::sort(*each);
    std::printf(
        "one more set judged: after two years %.2f us, after two months %.2f us; ratio %.2f (from %.2f to %.2f), of the least %.2f\n",
        olds[kPairs / 2], youngs[kPairs / 2], ratios[kPairs / 2], ratios.front(), ratios.back(), olds.front() / youngs.front());
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    mk::bench::report(argc > 1 ? std::max(3, std::atoi(argv[1])) : 2000);
    return 0;
}
