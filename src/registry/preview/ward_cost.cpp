// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/preview/ward_cost.h"

#include "registry/control/usual_drift.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

namespace mk::registry {

using base::Moment;
using base::Result;

namespace {

constexpr std::int64_t kDayMs = 86'400'000;
constexpr int kDays = 90;
constexpr double kDaysAMonth = 365.0 / 12;
constexpr std::int64_t kFewestFreedom = 20;

/// Scores of one meter on one pair of lots and level.
struct Spread {
    std::int64_t n = 0;
    double mean = 0, squares = 0;

    void add(double z)
    {
        ++n;
        const double from = z - mean;
        mean += from / static_cast<double>(n);
        squares += from * (z - mean);
    }
};

struct Seen {
    std::array<std::optional<CostLevel>, 3> levels;
    std::map<std::string, Spread> spreads;
    std::size_t sets = 0;
};

void take(const SetRecord& set, const Policy& policy, Seen& seen)
{
    bool counts = false;
    for (const auto& run : set.runs) {
        if (!run.judged.counted || !run.judged.z || !run.judged.mean || !run.judged.sd || run.judged.mean->mantissa() <= 0)
            continue;
        counts = true;
        const double mean = run.judged.mean->toDouble();
        seen.levels[static_cast<std::size_t>(run.run.level)] = CostLevel { 100 * run.judged.sd->toDouble() / mean,
            halfLimitOf(policy, run.run.unit).percentAt(mean) };
        seen.spreads[set.judged.meter.value + '\n' + run.judged.stripLot.value + '\n' + run.judged.controlLot.value + '\n'
                + std::string(word(run.run.level))]
            .add(*run.judged.z);
    }
    seen.sets += counts ? 1U : 0U;
}

} // namespace

Result<CostWard> costWard(Facts& facts, const Policy& policy, const std::optional<base::WardId>& ward, Moment at)
{
    const auto meters = facts.meters();
    if (!meters)
        return meters.error();
    CostWard cost;
    Seen seen;
    for (const auto& meter : *meters) {
        const auto state = facts.stateAt(meter.act.meter, at);
        const auto place = facts.wardAt(meter.act.meter, at);
        if (!state || !place)
            return state ? place.error() : state.error();
        if (!*state || (*state)->state != MeterState::InService || (ward && *place != *ward))
            continue;
        ++cost.meters;
        const auto sets = facts.sets(meter.act.meter, Moment { at.utcMs - kDays * kDayMs, 0 }, at);
        if (!sets)
            return sets.error();
        for (const auto& set : *sets)
            take(set, policy, seen);
    }
    for (const auto& level : seen.levels)
        if (level)
            cost.levels.push_back(*level);
    double squares = 0;
    std::int64_t freedom = 0;
    for (const auto& [key, spread] : seen.spreads) {
        squares += spread.squares;
        freedom += spread.n - 1;
    }
    cost.spreadKnown = freedom >= kFewestFreedom && squares > 0;
    if (cost.spreadKnown)
        cost.spread = std::sqrt(squares / static_cast<double>(freedom));
    cost.daysASet = seen.sets == 0 || cost.meters == 0
        ? policy.clearanceHours / 24.0
        : std::max(0.25, static_cast<double>(kDays) * static_cast<double>(cost.meters) / static_cast<double>(seen.sets));
    cost.setsAMonth = static_cast<double>(cost.meters) * kDaysAMonth / cost.daysASet;
    return cost;
}

} // namespace mk::registry
