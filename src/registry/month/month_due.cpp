// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/month_due.h"

#include <algorithm>

namespace mk::registry {

namespace {

Month monthAfter(Month month)
{
    return month.month == 12 ? Month { month.year + 1, 1 } : Month { month.year, month.month + 1 };
}

Month monthOf(base::Moment at, const Zone& zone)
{
    const auto day = zone.dateOf(at).ymd;
    return { static_cast<int>(day.year()), static_cast<unsigned>(day.month()) };
}

bool signs(const acts::ReviewSigned& review, Month month, const std::optional<base::WardId>& ward)
{
    return review.month == toText(month) && (!review.ward || review.ward == ward);
}

} // namespace

base::Date signatureDue(Month month, const Policy& policy)
{
    return base::addDays(lastDayOf(month), policy.reviewDueDay);
}

MonthSignature monthSignature(std::span<const Record<acts::ReviewSigned>> reviews, Month month, const std::optional<base::WardId>& ward,
    base::Moment at, const Policy& policy, const Zone& zone)
{
    MonthSignature found { month, ward, signatureDue(month, policy), MonthStanding::NotOver, {} };
    for (const auto& review : reviews)
        if (signs(review.act, month, ward) && review.act.at <= at && (!found.first || review.act.at < found.first->act.at))
            found.first = review;
    const base::Moment lateFrom = zone.endOf(found.due);
    if (found.first)
        found.standing = found.first->act.at < lateFrom ? MonthStanding::Signed : MonthStanding::SignedLate;
    else if (at >= lateFrom)
        found.standing = MonthStanding::Late;
    else if (at >= zone.endOf(lastDayOf(month)))
        found.standing = MonthStanding::Waiting;
    return found;
}

base::Result<std::vector<MonthSignature>> monthsToSign(
    Facts& facts, std::span<const std::pair<base::WardId, base::Moment>> wards, base::Moment begun, base::Moment at)
{
    const auto reviews = facts.facts<acts::ReviewSigned>();
    if (!reviews)
        return reviews.error();
    const Zone& zone = facts.zone();
    std::vector<MonthSignature> waiting;
    for (const auto& [ward, firstMeter] : wards)
        for (Month month = monthOf(std::max(firstMeter, begun), zone); zone.endOf(lastDayOf(month)) <= at; month = monthAfter(month)) {
            auto found = monthSignature(*reviews, month, ward, at, facts.policyAt(at), zone);
            if (!found.first)
                waiting.push_back(std::move(found));
        }
    std::ranges::stable_sort(waiting, {}, &MonthSignature::month);
    return waiting;
}

} // namespace mk::registry
