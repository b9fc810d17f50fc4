// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/signed_month.h"

namespace mk::registry {

bool concerns(const acts::ReviewSigned& review, base::Moment at, const base::WardId& ward, const Zone& zone)
{
    const auto month = parseMonth(review.month);
    return month && (!review.ward || *review.ward == ward) && zone.startOf(firstDayOf(*month)) <= at && at < zone.endOf(lastDayOf(*month));
}

base::Done maySign(const acts::ReviewSigned& review, Role role, const Zone& zone)
{
    const auto month = parseMonth(review.month);
    if (!month)
        return month.error();
    if (role != Role::Coordinator)
        return base::refused("only the coordinator signs a month");
    if (review.at < zone.endOf(lastDayOf(*month)))
        return base::refused("%1 is not over; sign it after its last day", base::Arg(base::Arg::Kind::Month, toText(*month)));
    return {};
}

} // namespace mk::registry
