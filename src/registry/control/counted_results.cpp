// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/counted_results.h"

namespace mk::registry {

std::vector<CountedResult> countedResults(std::span<const SetRecord> sets, base::Moment from, base::Moment to, const base::SetId& except)
{
    std::vector<CountedResult> results;
    for (const auto& set : sets) {
        if (set.judged.set == except || set.judged.lastAt < from || set.judged.lastAt > to)
            continue;
        for (const auto& run : set.runs) {
            const auto* number = std::get_if<base::Decimal>(&run.run.result);
            if (run.judged.counted && number != nullptr)
                results.push_back(
                    { set.judged.lastAt, run.run.level, number->toDouble() - run.judged.mean->toDouble(), run.judged.mean->toDouble() });
        }
    }
    return results;
}

} // namespace mk::registry
