// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/comparison.h"

#include "base/number_text.h"

#include <cmath>

namespace mk::registry {

namespace {

__extension__ using Wide = __int128;

Wide scaledTo(const base::Decimal& value, int decimals)
{
    Wide scaled = value.mantissa();
    for (int i = value.decimals(); i < decimals; ++i)
        scaled *= 10;
    return scaled;
}

/// |meter - lab| <= limit, exactly: the absolute limit below the threshold, a percentage of the laboratory value from it on.
bool insideLimits(const base::Decimal& meter, const base::Decimal& lab, const base::Decimal& threshold, const base::Decimal& below, const base::Decimal& percent)
{
    const int decimals = std::max({ meter.decimals(), lab.decimals(), below.decimals() });
    const Wide reference = scaledTo(lab, decimals);
    Wide difference = scaledTo(meter, decimals) - reference;
    if (difference < 0)
        difference = -difference;
    if (lab < threshold)
        return difference <= scaledTo(below, decimals);
    Wide hundred = 100;
    for (int i = 0; i < percent.decimals(); ++i)
        hundred *= 10;
    return difference * hundred <= reference * percent.mantissa();
}

std::string trimmed(double value)
{
    std::string shown = base::fixedText(value, 2);
    while (shown.ends_with('0'))
        shown.pop_back();
    if (shown.ends_with('.'))
        shown.pop_back();
    return shown;
}

std::vector<std::string> exclusions(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy)
{
    std::vector<std::string> reasons;
    const std::int64_t apart = std::abs(pair.meterAt.utcMs - pair.labAt.utcMs);
    if (apart > policy.pairWindowMinutes * std::int64_t { 60'000 })
        reasons.push_back("the two samples lie " + std::to_string((apart + 59'999) / 60'000) + " minutes apart, more than " + std::to_string(policy.pairWindowMinutes));
    if (!std::holds_alternative<base::Decimal>(pair.meterResult) || !std::holds_alternative<base::Decimal>(pair.labResult))
        reasons.emplace_back("a result is not a number");
    if (model != nullptr && pair.unit != model->act.unit)
        reasons.emplace_back("the unit is not the meter's");
    if (model != nullptr && pair.haematocrit) {
        const bool low = model->act.haematocritLow && *pair.haematocrit < *model->act.haematocritLow;
        const bool high = model->act.haematocritHigh && *pair.haematocrit > *model->act.haematocritHigh;
        if (low || high)
            reasons.emplace_back("the haematocrit lies outside the strip's claim");
    }
    return reasons;
}

} // namespace

acts::PairJudged judgePair(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy)
{
    acts::PairJudged record { pair.pair, pair.meter, std::max(pair.meterAt, pair.labAt), PairOutcome::Excluded, exclusions(pair, model, policy), {}, policy.version };
    if (!record.excludedBecause.empty())
        return record;
    const auto& meter = std::get<base::Decimal>(pair.meterResult);
    const auto& lab = std::get<base::Decimal>(pair.labResult);
    const bool mg = pair.unit == base::GlucoseUnit::MgPerDl;
    const base::Decimal& threshold = mg ? policy.limitThreshold : policy.limitThresholdMmol;
    const base::Decimal& below = mg ? policy.limitBelow : policy.limitBelowMmol;
    record.outcome = insideLimits(meter, lab, threshold, below, policy.limitPercent) ? PairOutcome::Inside : PairOutcome::Outside;
    const double margin = lab < threshold ? below.toDouble() : lab.toDouble() * policy.limitPercent.toDouble() / 100.0;
    record.limits = trimmed(lab.toDouble() - margin) + " to " + trimmed(lab.toDouble() + margin) + " " + std::string(base::toText(pair.unit));
    return record;
}

} // namespace mk::registry
