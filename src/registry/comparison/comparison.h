// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

#include <functional>
#include <span>

namespace mk::registry {

/// Judges one pair against the policy's limits; a breach of a pairing rule excludes it, with the reason (handbook 5.2, 5.4).
/// Limits refer to the laboratory value, bounds included, decimals compared exactly.
acts::PairJudged judgePair(const acts::ComparisonRecorded& pair, const ModelRecord* model, const Policy& policy);

/// How far the two samples of a pair lie apart, a begun minute counted whole.
std::int64_t minutesApart(const acts::ComparisonRecorded& pair);
/// Admissible, and farther apart than the policy wants (handbook 5.2). It is judged as any other, and marked where it is shown; what the
/// journal recorded of it stays as it was, so this is asked of the policy that held when it was made.
bool beyondTarget(const PairRecord& pair, const Policy& policy);

/// |meter - lab| within the tier's limit, exactly; bounds included.
bool insideTier(const ComparisonTier& tier, const base::Decimal& meter, const base::Decimal& lab, base::GlucoseUnit unit);

/// pairs   of one round, each as it was judged when it was recorded
RoundJudged judgeRound(std::span<const PairRecord> pairs, const Policy& policy);

/// One comparison: the pairs of a round, or a single pair, with what they say together.
struct Comparison {
    std::vector<PairRecord> pairs;
    RoundJudged judged;
};
/// The comparisons of a meter by `at`, oldest first by their newest used pair; one without a used pair is left out.
/// pairs     in the order of their times
/// policyAt  the version in force at a moment
std::vector<Comparison> comparisonsOf(
    std::span<const PairRecord> pairs, base::Moment at, const std::function<const Policy&(base::Moment)>& policyAt);
/// The pair that stands for a comparison: the one farthest out where it failed, else the newest; its outcome is that of the whole.
PairRecord standingPair(const Comparison& comparison);

} // namespace mk::registry
