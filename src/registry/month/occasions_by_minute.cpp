// SPDX-License-Identifier: GPL-3.0-or-later
// How days were counted until occasions had a tolerance. Only months that were signed then are still read so.
#include "registry/month/occasions.h"

#include <algorithm>

namespace mk::registry {

namespace {

OccasionDay doneByMinute(const OccasionInput& input, base::Date day, const ClearingSet* before, const ClearingSet& set, const Zone& zone)
{
    const OccasionDay met { day, Occasion::Met, 0, set.recordedLate };
    if (before == nullptr || set.at <= before->until)
        return met;
    const bool owed = std::ranges::any_of(input.service, [&](const TimeSpan& s) { return s.from <= before->until && before->until < s.to; })
        && !input.unused.contains(zone.dateOf(before->until));
    return owed ? OccasionDay { day, Occasion::Late, (set.at.utcMs - before->until.utcMs + 59'999) / 60'000 } : met;
}

OccasionDay occasionByMinute(const OccasionInput& input, base::Date day, const Zone& zone)
{
    if (const auto declared = input.unused.find(day); declared != input.unused.end())
        return { day, declared->second ? Occasion::ExcusedAfterwards : Occasion::Excused };
    const ClearingSet* before = nullptr;
    bool claimed = false;
    for (const auto& set : input.sets) {
        if (!set.accepted)
            continue;
        const base::Date on = zone.dateOf(set.at);
        if (on > day)
            break;
        if (on == day && !set.unproven)
            return doneByMinute(input, day, before, set, zone);
        claimed = claimed || on == day;
        if (!set.unproven)
            before = &set;
    }
    return { day, claimed ? Occasion::Unproven : Occasion::Missed };
}

} // namespace

MonthOccasions occasionsByMinute(const OccasionInput& input, const Zone& zone)
{
    MonthOccasions occasions;
    for (base::Date day = input.first; day <= input.last; day = base::addDays(day, 1)) {
        const base::Moment from = zone.startOf(day), to = zone.endOf(day);
        const bool served = std::ranges::any_of(input.service, [&](const TimeSpan& s) { return s.from < to && s.to > from; });
        if (to <= input.cutOff && served)
            occasions.days.push_back(occasionByMinute(input, day, zone));
    }
    return occasions;
}

} // namespace mk::registry
