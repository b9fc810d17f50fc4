// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/meter_work.h"

#include "registry/control/failure_ladder.h"

#include <algorithm>
#include <array>

namespace mk::registry::desk {

using base::Result;

namespace {

constexpr int kWindow = 26; ///< sets that answer for the counters nearly always: twelve results of each level, and some gaps

/// Do these sets, newest first, hold all that the counters can remember?
bool coversCounters(const std::vector<SetRecord>& sets)
{
    std::array<int, 3> counted {};
    for (const auto& set : sets) {
        for (const auto& run : set.runs)
            counted[static_cast<std::size_t>(run.run.level)] += run.judged.counted ? 1 : 0;
        if (set.judged.segmentStart)
            return true;
    }
    return std::ranges::all_of(counted, [](int n) { return n == 0 || n >= 13; })
        && std::ranges::any_of(counted, [](int n) { return n > 0; });
}

} // namespace

void MeterWork::goOn(const SetRecord& set, const Policy& policy, bool again)
{
    if (!again)
        before = after;
    after = before;
    after.changeTo(policy);
    after.follow(set);
    newest = set.judged.set;
    failing = failsAfter(failing, set);
}

base::Done loadEvents(Facts& facts, const base::MeterId& meter, MeterWork& work)
{
    auto boundaries = facts.boundaries(meter);
    const auto taken = facts.facts<acts::TakenAsItStands>(meter.value);
    if (!boundaries || !taken)
        return boundaries ? taken.error() : boundaries.error();
    work.usualBoundaries = std::move(boundaries).value();
    work.taken.clear();
    for (const auto& each : *taken)
        work.taken.push_back(each.act.at);
    work.eventsKnown = true;
    return {};
}

Result<MeterWork> loadWork(Facts& facts, const base::MeterId& meter, base::Moment now)
{
    auto sets = facts.newestSets(meter, base::kEndOfTime, kWindow);
    for (int most = kWindow; sets && static_cast<int>(sets->size()) == most && !coversCounters(*sets);)
        sets = facts.newestSets(meter, base::kEndOfTime, most *= 4);
    const auto boundaries = facts.boundaries(meter);
    if (!sets || !boundaries)
        return sets ? boundaries.error() : sets.error();
    const MeterSeries fresh(facts.policyAt(sets->empty() ? now : sets->back().judged.firstAt));
    MeterWork work { fresh, fresh, {}, {}, *boundaries };
    for (auto set = sets->rbegin(); set != sets->rend(); ++set)
        work.goOn(*set, facts.policyAt(set->judged.firstAt));
    return work;
}

} // namespace mk::registry::desk
