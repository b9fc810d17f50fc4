// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/accuracy_criteria.h"

#include <algorithm>

namespace mk::stats {

namespace {

bool criterionBandHolds(const CriterionBand& band, const base::Decimal& reference)
{
    const bool fromHolds = !band.from || *band.from < reference || (band.fromIncluded && *band.from == reference);
    const bool toHolds = !band.to || reference < *band.to || (band.toIncluded && reference == *band.to);
    return fromHolds && toHolds;
}

/// Both at the larger number of decimals.
bool criterionLess(base::WideDecimal a, base::WideDecimal b)
{
    const int decimals = std::max(a.decimals, b.decimals);
    return mantissaWith(a, decimals) < mantissaWith(b, decimals);
}

base::WideDecimal criterionLimit(const CriterionBand& band, const base::Decimal& reference)
{
    if (!band.percent)
        return base::widened(*band.absolute);
    const base::WideDecimal share { static_cast<base::WideInt>(band.percent->mantissa()) * reference.mantissa(),
        band.percent->decimals() + reference.decimals() + 2 };
    if (!band.absolute)
        return share;
    const base::WideDecimal absolute = base::widened(*band.absolute);
    return criterionLess(share, absolute) ? absolute : share;
}

base::WideDecimal criterionDifference(const DecimalPair& pair)
{
    const int decimals = std::max(pair.reference.decimals(), pair.test.decimals());
    return { mantissaWith(base::widened(pair.test), decimals) - mantissaWith(base::widened(pair.reference), decimals), decimals };
}

CriterionResult judgeTier(const Criterion& criterion, const CriterionTier& tier, std::span<const DecimalPair> pairs)
{
    CriterionResult result { .id = criterion.id, .tier = tier.name };
    for (const DecimalPair& pair : pairs) {
        const auto verdict = judgePair(tier, pair);
        result.of += verdict ? 1U : 0U;
        result.within += verdict && verdict->within ? 1U : 0U;
    }
    if (result.of == 0)
        return result;
    result.percent = 100 * static_cast<double>(result.within) / static_cast<double>(result.of);
    result.needed = fewestWithin(tier.minimumProportion, result.of);
    result.met = result.within >= result.needed;
    return result;
}

} // namespace

std::optional<PairVerdict> judgePair(const CriterionTier& tier, const DecimalPair& pair)
{
    const auto band = std::ranges::find_if(tier.bands, [&](const CriterionBand& one) { return criterionBandHolds(one, pair.reference); });
    if (band == tier.bands.end() || pair.reference.mantissa() < 0)
        return std::nullopt;
    PairVerdict verdict { .limit = criterionLimit(*band, pair.reference), .difference = criterionDifference(pair) };
    base::WideDecimal magnitude = verdict.difference;
    magnitude.mantissa = magnitude.mantissa < 0 ? -magnitude.mantissa : magnitude.mantissa;
    verdict.within = !criterionLess(verdict.limit, magnitude);
    verdict.exactlyOnLimit = verdict.within && !criterionLess(magnitude, verdict.limit);
    return verdict;
}

std::vector<CriterionResult> judgeCriteria(std::span<const DecimalPair> pairs, base::GlucoseUnit unit)
{
    std::vector<CriterionResult> results;
    for (const Criterion& criterion : accuracyCriteria()) {
        if (criterion.unit != unit)
            continue;
        for (const CriterionTier& tier : criterion.tiers)
            results.push_back(judgeTier(criterion, tier, pairs));
    }
    return results;
}

std::size_t fewestWithin(const base::Decimal& proportion, std::size_t n)
{
    const base::WideInt one = base::powerOfTen(proportion.decimals());
    return static_cast<std::size_t>((static_cast<base::WideInt>(proportion.mantissa()) * static_cast<base::WideInt>(n) + one - 1) / one);
}

} // namespace mk::stats
