// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/comparison/comparison.h"

#include "base/number_text.h"
#include "stats/compare/accuracy_criteria.h"
#include "stats/compare/agreement.h"

#include <algorithm>
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
bool insideLimits(const base::Decimal& meter, const base::Decimal& lab, const base::Decimal& threshold, const base::Decimal& below,
    const base::Decimal& percent)
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

bool mentions(const std::optional<std::string>& text, std::string_view word)
{
    if (!text)
        return false;
    std::string lower = *text;
    std::ranges::transform(
        lower, lower.begin(), [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); });
    return lower.find(word) != std::string::npos;
}

/// Breaches of what newer records tell about sample and tube; what is not told is no breach.
void excludeBySample(const acts::ComparisonRecorded& pair, const Policy& policy, std::vector<std::string>& reasons)
{
    const bool afterMeal = pair.fasting == YesNo::No && mentions(pair.sampleType, "capillary")
        && !mentions(pair.labSampleType, "capillary");
    if (policy.capillaryFasting && afterMeal)
        reasons.emplace_back("capillary blood after a meal lies above venous blood by itself");
    if (!pair.drawnAt || !pair.separatedAt || mentions(pair.tube, "citrate"))
        return;
    const std::int64_t stood = pair.separatedAt->utcMs - pair.drawnAt->utcMs;
    if (stood > policy.separationMinutes * std::int64_t { 60'000 })
        reasons.push_back("the tube" + (pair.tube ? " (" + *pair.tube + ")" : std::string()) + " stood "
            + std::to_string((stood + 59'999) / 60'000) + " minutes before it was separated, more than "
            + std::to_string(policy.separationMinutes) + ": the blood cells used up glucose");
}

/// The limits of a unit.
struct TierLimits {
    const base::Decimal& threshold;
    const base::Decimal& below;
};
TierLimits limitsOf(const ComparisonTier& tier, base::GlucoseUnit unit)
{
    return unit == base::GlucoseUnit::MgPerDl ? TierLimits { tier.threshold, tier.below }
                                              : TierLimits { tier.thresholdMmol, tier.belowMmol };
}

double marginAt(const ComparisonTier& tier, double lab, base::GlucoseUnit unit)
{
    const TierLimits limits = limitsOf(tier, unit);
    return lab < limits.threshold.toDouble() ? limits.below.toDouble() : lab * tier.percent.toDouble() / 100.0;
}

std::vector<std::string> exclusions(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy)
{
    std::vector<std::string> reasons;
    if (minutesApart(pair) > policy.pairWindowMinutes)
        reasons.push_back("the two samples lie " + std::to_string(minutesApart(pair)) + " minutes apart, more than "
            + std::to_string(policy.pairWindowMinutes));
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
    excludeBySample(pair, policy, reasons);
    return reasons;
}

} // namespace

std::int64_t minutesApart(const acts::ComparisonRecorded& pair)
{
    return (std::abs(pair.meterAt.utcMs - pair.labAt.utcMs) + 59'999) / 60'000;
}

bool beyondTarget(const PairRecord& pair, const Policy& policy)
{
    return pair.judged.outcome != PairOutcome::Excluded && minutesApart(pair.pair) > policy.pairTargetMinutes;
}

acts::PairJudged judgePair(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy)
{
    acts::PairJudged record { pair.pair, pair.meter, std::max(pair.meterAt, pair.labAt), PairOutcome::Excluded,
        exclusions(pair, model, policy), {}, policy.version };
    if (!record.excludedBecause.empty())
        return record;
    const auto& meter = std::get<base::Decimal>(pair.meterResult);
    const auto& lab = std::get<base::Decimal>(pair.labResult);
    const bool mg = pair.unit == base::GlucoseUnit::MgPerDl;
    const base::Decimal& threshold = mg ? policy.limitThreshold : policy.limitThresholdMmol;
    const base::Decimal& below = mg ? policy.limitBelow : policy.limitBelowMmol;
    record.outcome = insideLimits(meter, lab, threshold, below, policy.limitPercent) ? PairOutcome::Inside : PairOutcome::Outside;
    const double margin = lab < threshold ? below.toDouble() : lab.toDouble() * policy.limitPercent.toDouble() / 100.0;
    record.limits = trimmed(lab.toDouble() - margin) + " to " + trimmed(lab.toDouble() + margin) + " "
        + std::string(base::toText(pair.unit));
    return record;
}

bool insideTier(const ComparisonTier& tier, const base::Decimal& meter, const base::Decimal& lab, base::GlucoseUnit unit)
{
    const TierLimits limits = limitsOf(tier, unit);
    return insideLimits(meter, lab, limits.threshold, limits.below, tier.percent);
}

RoundJudged judgeRound(std::span<const PairRecord> pairs, const Policy& policy)
{
    RoundJudged judged;
    std::vector<double> labs, meters;
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        const PairRecord& pair = pairs[i];
        judged.round = pair.pair.round.value_or(judged.round);
        if (pair.judged.outcome == PairOutcome::Excluded) {
            ++judged.excluded;
            continue;
        }
        places.push_back(i);
        labs.push_back(std::get<base::Decimal>(pair.pair.labResult).toDouble());
        meters.push_back(std::get<base::Decimal>(pair.pair.meterResult).toDouble());
        judged.firstAt = judged.firstAt ? std::min(*judged.firstAt, pair.judged.at) : pair.judged.at;
        judged.lastAt = judged.lastAt ? std::max(*judged.lastAt, pair.judged.at) : pair.judged.at;
    }
    judged.used = places.size();
    if (places.empty())
        return judged;

    for (std::size_t t = 0; t < policy.comparisonTiers.size(); ++t) {
        const ComparisonTier& tier = policy.comparisonTiers[t];
        TierShare share { tier.name, 0, judged.used, stats::fewestWithin(tier.share, judged.used) };
        for (const std::size_t i : places) {
            const auto& pair = pairs[i].pair;
            // The first tier was judged when the pair was recorded, and stays so.
            const bool within = t == 0
                ? pairs[i].judged.outcome == PairOutcome::Inside
                : insideTier(tier, std::get<base::Decimal>(pair.meterResult), std::get<base::Decimal>(pair.labResult), pair.unit);
            share.within += within ? 1U : 0U;
        }
        judged.tiers.push_back(share);
    }
    judged.outcome = std::ranges::all_of(judged.tiers, &TierShare::met) ? PairOutcome::Inside : PairOutcome::Outside;

    const base::GlucoseUnit unit = pairs[places.front()].pair.unit;
    if (const auto agreement = stats::agreement(labs, meters)) {
        judged.meanDifference = agreement->bias;
        judged.sd = agreement->sd;
        judged.lower = agreement->lower;
        judged.upper = agreement->upper;
    }
    double farthest = -1, labSum = 0;
    for (std::size_t k = 0; k < places.size(); ++k) {
        labSum += labs[k];
        judged.meanPercent += labs[k] > 0 ? 100.0 * (meters[k] - labs[k]) / labs[k] / static_cast<double>(places.size()) : 0;
        const double margin = marginAt(policy.comparisonTiers.front(), labs[k], unit);
        const double out = margin > 0 ? std::abs(meters[k] - labs[k]) / margin : 0;
        if (out > farthest) {
            farthest = out;
            judged.worst = places[k];
        }
    }
    judged.biasBeyondHalfLimit = judged.used >= 2
        && std::abs(judged.meanDifference)
            > marginAt(policy.comparisonTiers.front(), labSum / static_cast<double>(judged.used), unit) / 2.0;
    return judged;
}

std::vector<Comparison> comparisonsOf(
    std::span<const PairRecord> pairs, base::Moment at, const std::function<const Policy&(base::Moment)>& policyAt)
{
    std::vector<Comparison> all;
    for (const auto& pair : pairs) {
        if (pair.judged.at > at)
            continue;
        const auto same = std::ranges::find_if(
            all, [&](const Comparison& c) { return pair.pair.round && c.pairs.front().pair.round == pair.pair.round; });
        if (same == all.end())
            all.push_back({ { pair }, {} });
        else
            same->pairs.push_back(pair);
    }
    for (auto& comparison : all)
        comparison.judged = judgeRound(comparison.pairs, policyAt(comparison.pairs.back().judged.at));
    std::erase_if(all, [](const Comparison& c) { return c.judged.used == 0; });
    std::ranges::stable_sort(all, {}, [](const Comparison& c) { return *c.judged.lastAt; });
    return all;
}

PairRecord standingPair(const Comparison& comparison)
{
    std::size_t at = *comparison.judged.worst;
    if (comparison.judged.outcome == PairOutcome::Inside)
        for (std::size_t i = 0; i < comparison.pairs.size(); ++i)
            if (comparison.pairs[i].judged.outcome != PairOutcome::Excluded)
                at = i;
    PairRecord pair = comparison.pairs[at];
    pair.judged.outcome = comparison.judged.outcome;
    return pair;
}

} // namespace mk::registry
