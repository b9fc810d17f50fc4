// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/policy/retention.h"

namespace mk::registry {

base::Date retentionEnds(base::Date recorded, const Policy& policy)
{
    return base::addMonths(recorded, 12 * policy.retentionYears);
}

base::Date retainedSince(base::Date today, const Policy& policy)
{
    base::Date day = base::addDays(base::addMonths(today, -12 * policy.retentionYears), 1);
    while (retentionEnds(day, policy) >= today) // 29 February ends on the 28th, as the 28th does
        day = base::addDays(day, -1);
    return day;
}

} // namespace mk::registry
