// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/operator_month.h"

#include <algorithm>

namespace mk::registry {

namespace {

std::optional<double> rateOf(std::size_t rejected, std::size_t valid)
{
    return valid == 0 ? std::nullopt : std::optional(100.0 * static_cast<double>(rejected) / static_cast<double>(valid));
}

base::WardId wardOf(const MonthMeterInput& meter, base::Moment at)
{
    base::WardId ward = meter.wards.empty() ? meter.meter.act.ward : meter.wards.front().ward;
    for (const auto& spell : meter.wards)
        if (spell.since <= at)
            ward = spell.ward;
    return ward;
}

} // namespace

std::optional<double> OperatorMonth::rejectedPercent() const
{
    return rateOf(rejected, runs - invalid);
}

std::vector<OperatorMonth> operatorMonths(
    std::span<const MonthMeterInput> meters, Month month, const std::optional<base::WardId>& ward, const Zone& zone)
{
    const base::Moment start = zone.startOf(firstDayOf(month));
    const base::Moment end = zone.endOf(lastDayOf(month));
    std::map<base::OperatorId, OperatorMonth> people;
    OperatorMonth all;
    for (const auto& meter : meters)
        for (const auto& set : meter.sets) {
            const base::Moment at = set.judged.lastAt;
            if (at < start || at >= end || (ward && wardOf(meter, at) != *ward))
                continue;
            for (const auto& run : set.runs) {
                OperatorMonth& person = people[run.run.by];
                person.person = run.run.by;
                for (OperatorMonth* each : { &person, &all }) {
                    ++each->runs;
                    each->invalid += run.judged.valid ? 0u : 1u;
                    each->rejected += run.judged.valid && run.judged.verdict == Verdict::Rejected ? 1u : 0u;
                }
            }
        }
    std::vector<OperatorMonth> months;
    for (auto& [id, person] : people) {
        const auto own = person.rejectedPercent();
        person.aboveTwiceWard = person.runs >= kRunsForRate && person.rejected >= kRejectedForRate && own
            && *own > 2 * all.rejectedPercent().value_or(0);
        months.push_back(std::move(person));
    }
    return months;
}

} // namespace mk::registry
