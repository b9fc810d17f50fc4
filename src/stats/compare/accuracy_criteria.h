// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"
#include "base/glucose_concentration.h"
#include "base/wide_decimal.h"

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

/// The published rules for how far a meter may lie from its reference, and what pairs say under them. Everything is judged on the
/// decimals as they were typed: a pair exactly on its limit is within, whatever binary rounding would make of it.
namespace mk::stats {

/// What a band with both limits allows: BandLimit takes the one it has, GreaterLimit the larger of the two.
enum class CriterionMode { BandLimit, GreaterLimit };

/// A stretch of REFERENCE values and what is allowed there. No bound on a side: the band is open there.
/// absolute   in the criterion's unit; percent   of the reference; at least one of them is given
struct CriterionBand {
    std::optional<base::Decimal> from = std::nullopt;
    bool fromIncluded = false;
    std::optional<base::Decimal> to = std::nullopt;
    bool toIncluded = false;
    std::optional<base::Decimal> absolute = std::nullopt;
    std::optional<base::Decimal> percent = std::nullopt;
};

/// One demand of a criterion: at least this proportion of the pairs within the limits of their bands.
struct CriterionTier {
    std::string_view name;
    base::Decimal minimumProportion;
    CriterionMode mode = CriterionMode::BandLimit;
    std::vector<CriterionBand> bands;
};

/// A published rule.
/// unit       of values and absolute limits; nothing for rules about control material in percent of its target
/// audience   whom the rule addresses; also   what else it demands, which is not judged here; may be empty
/// status     how sure the figures are; confirmed   whether they were read in a published source; source   where they were read
struct Criterion {
    std::string_view id;
    std::string_view title;
    std::optional<int> year = std::nullopt;
    std::optional<base::GlucoseUnit> unit = std::nullopt;
    std::string_view audience;
    std::vector<CriterionTier> tiers;
    std::string_view also = {};
    std::string_view status;
    bool confirmed = true;
    std::string_view source;
};

/// Every rule known here, in the order of the reference.
const std::vector<Criterion>& accuracyCriteria();

struct DecimalPair {
    base::Decimal reference, test;
};

/// limit, difference   exactly, in the criterion's unit; the difference is test minus reference
struct PairVerdict {
    base::WideDecimal limit;
    base::WideDecimal difference;
    bool within = false;
    bool exactlyOnLimit = false;
};

/// One pair under one demand. A difference that equals the limit is within.
/// returns   nothing where no band applies, nor for a reference below zero
std::optional<PairVerdict> judgePair(const CriterionTier& tier, const DecimalPair& pair);

/// What pairs say under one demand.
/// of       pairs to which a band applies; within   of those; percent   100 within / of
/// met      nothing, nor a percent, where a band applies to none: no pairs are no judgement
/// needed   the fewest within that meet the demand: the proportion times `of`, rounded up in exact arithmetic
struct CriterionResult {
    std::string_view id;
    std::string_view tier;
    std::size_t within = 0;
    std::size_t of = 0;
    std::optional<double> percent = std::nullopt;
    std::optional<bool> met = std::nullopt;
    std::size_t needed = 0;
};

/// All demands of all criteria of that unit, in the order of the table. One that applies to none of the pairs
/// is in the list too, without a judgement.
std::vector<CriterionResult> judgeCriteria(std::span<const DecimalPair> pairs, base::GlucoseUnit unit);

/// The smallest whole number that is at least proportion times n. proportion: 0 to 1
std::size_t fewestWithin(const base::Decimal& proportion, std::size_t n);

} // namespace mk::stats
