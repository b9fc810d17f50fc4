// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/limits.h"

#include "registry/terms/reason.h"

#include "base/number_text.h"
#include "stats/rules/control_limits.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace mk::registry {

namespace {

base::Decimal rounded(double value, int decimals)
{
    const auto typed = base::Decimal::parse(base::fixedText(value, std::min(decimals, base::Decimal::kMostDecimals)));
    return typed ? *typed : base::Decimal();
}

Stage stageOf(stats::LimitStage stage)
{
    return stage == stats::LimitStage::Established ? Stage::Established
        : stage == stats::LimitStage::Interim      ? Stage::Interim
                                                   : Stage::Range;
}

std::size_t lacking(std::size_t have, std::size_t need)
{
    return have < need ? need - have : 0;
}

std::optional<std::size_t> beyondThreeSd(
    std::span<const double> values, const std::optional<base::Decimal>& mean, const std::optional<base::Decimal>& sd)
{
    if (!mean || !sd)
        return std::nullopt;
    constexpr double kAlike = 1e-9; // handbook 17.21
    return static_cast<std::size_t>(
        std::ranges::count_if(values, [&](double value) { return std::abs(value - mean->toDouble()) > 3 * sd->toDouble() + kAlike; }));
}

} // namespace

std::size_t LimitProposal::excludedCount() const
{
    std::size_t count = 0;
    for (const auto& [cause, n] : excluded)
        count += n;
    return count;
}

LimitProposal proposeLimits(LimitProposal proposal, std::span<const LimitResult> results, const Zone& zone)
{
    std::vector<double> values;
    std::set<std::string> days;
    std::set<base::MeterId> meters;
    int decimals = 0;
    for (const auto& each : results) {
        const auto* number = std::get_if<base::Decimal>(&each.result);
        if (!each.valid) {
            ++proposal.excluded[each.invalidBecause.empty() ? std::string(code(ReasonCode::RunInvalid)) : each.invalidBecause.front()];
            continue;
        }
        if (number == nullptr) {
            ++proposal.excluded[std::holds_alternative<ErrorCode>(each.result) ? "error-code" : std::string(kindWord(each.result))];
            continue;
        }
        values.push_back(number->toDouble());
        decimals = std::max(decimals, number->decimals());
        days.insert(base::toText(zone.dateOf(each.at)));
        meters.insert(each.meter);
    }
    if (proposal.inForce)
        proposal.beyondInForce = beyondThreeSd(values, proposal.inForce->act.mean, proposal.inForce->act.sd);
    proposal.runs = values.size();
    proposal.days = days.size();
    proposal.meters = meters.size();
    const stats::LimitStage reached = stats::limitStageFor(proposal.runs, proposal.days);
    proposal.stage = stageOf(reached);
    const std::size_t next = reached == stats::LimitStage::Range ? stats::kInterimRuns : stats::kEstablishedRuns;
    proposal.missingRuns = lacking(proposal.runs, next);
    proposal.missingDays = lacking(proposal.days, next);
    if (values.empty() || reached == stats::LimitStage::Range) {
        proposal.note = base::refused(
            "Not enough yet: %1 results on %2 days. Interim limits need %3 on %3; until then the range speaks alone.", proposal.runs,
            proposal.days, stats::kInterimRuns);
        if (!values.empty())
            proposal.mean = stats::moments(values).mean;
        return proposal;
    }
    const stats::Moments block = stats::moments(values);
    proposal.mean = block.mean;
    auto limits = reached == stats::LimitStage::Established ? stats::establishedLimits(block, proposal.days)
        : proposal.former                                   ? stats::interimLimits(block, proposal.days, proposal.former->cvPercent())
                          : base::Result<stats::ControlLimits>(base::refused("no established limits of former lots lend a CV"));
    if (!limits) {
        proposal.note = base::refused("Nothing to accept: %1.", limits.error());
        return proposal;
    }
    proposal.sd = limits->sd;
    proposal.meanCi = limits->meanCi;
    proposal.sdCi = limits->sdCi;
    proposal.sdFinerThanReadings = stats::isFinerThanReadings(limits->sd, std::pow(10.0, -decimals));
    const base::Decimal sdTyped = rounded(limits->sd, decimals + 2);
    if (sdTyped.mantissa() <= 0) {
        proposal.note = base::refused("Nothing to accept: the SD rounds to 0, and rules cannot be evaluated with it.");
        return proposal;
    }
    proposal.meanTyped = rounded(limits->mean, decimals + 1);
    proposal.sdTyped = sdTyped;
    proposal.beyondProposed = beyondThreeSd(values, proposal.meanTyped, proposal.sdTyped);
    if (!proposal.inForce)
        proposal.note = base::refused("Nothing to accept: no range is on record for these lots; enter it from the label.");
    return proposal;
}

base::Result<acts::RangeAssigned> acceptanceOf(const LimitProposal& proposal, base::Moment from, const std::string& reason)
{
    if (!proposal.acceptable())
        return proposal.note.value_or(base::refused("there is nothing to accept"));
    const acts::RangeAssigned& range = proposal.inForce->act;
    acts::RangeAssigned act;
    act.stripLot = proposal.stripLot;
    act.controlLot = proposal.controlLot;
    act.level = proposal.level;
    act.unit = range.unit;
    act.low = range.low;
    act.high = range.high;
    act.mean = proposal.meanTyped;
    act.sd = proposal.sdTyped;
    act.stage = proposal.stage;
    act.from = from;
    act.meter = proposal.meter;
    if (!reason.empty())
        act.reason = reason;
    return act;
}

} // namespace mk::registry
