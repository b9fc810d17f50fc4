// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/preview/policy_preview.h"

#include "registry/meter/fitness.h"

#include <algorithm>

namespace mk::registry {

namespace {

using base::Moment;
using base::Result;

Result<Fitness> fitnessAt(Facts& facts, const MeterRecord& meter, Moment at)
{
    const auto history = facts.history(meter, at);
    if (!history)
        return history.error();
    return assess(*history, facts.policyAt(at), at, facts.zone());
}

bool advisesWithdrawal(const Fitness& fitness)
{
    return fitness.state == MeterState::Withdrawn || (fitness.state == MeterState::InService && fitness.advice == Advice::Withdraw);
}

} // namespace

Result<PreviewOfMeter> previewPolicy(
    Facts& stood, Facts& would, const CandidateLine& line, const MeterRecord& meter, const PreviewPeriod& period)
{
    const Zone& zone = stood.zone();
    auto ward = stood.wardAt(meter.act.meter, period.now);
    if (!ward)
        return ward.error();
    PreviewOfMeter preview { meter.act.meter, std::move(ward).value(), {}, line.otherVerdicts(zone.startOf(period.from), period.now) };
    const auto stops = line.stops();
    for (base::Date day = period.from; day <= period.to; day = base::addDays(day, 1)) {
        const Moment noon = std::min(zone.resolve({ day, 12 * std::int64_t { 3'600'000 } }).first, period.now);
        if (meter.act.enrolled > noon)
            continue;
        const auto was = fitnessAt(stood, meter, noon);
        const auto is = fitnessAt(would, meter, noon);
        if (!was || !is)
            return was ? is.error() : was.error();
        PreviewDay shown { day, is->usable, advisesWithdrawal(*is), was->usable, advisesWithdrawal(*was), {}, {} };
        for (const auto& reason : is->reasons)
            if (reason.blocks)
                shown.reasons.emplace_back(code(reason.code));
        for (const auto& stop : stops)
            if (zone.dateOf(stop.stop.at) == day)
                shown.stopped.push_back(stop.stop.cause);
        preview.days.push_back(std::move(shown));
    }
    return preview;
}

} // namespace mk::registry
