// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

/// What in a month's records needs a human eye (handbook 7.2). Pure. Each finding says what stands in the record, and nothing of why.
namespace mk::registry {

/// From how many on something is a pattern.
inline constexpr std::size_t kSameValueRunning = 4;
inline constexpr std::size_t kValuesForSpread = 10; ///< of the meter and of its group, for a comparison of their SD
inline constexpr std::size_t kValuesAtMean = 6;
inline constexpr std::size_t kSetsForNoFailure = 300; ///< at 1 % false rejections one in twenty such months has none
inline constexpr std::size_t kSetsInOneMinute = 3;
inline constexpr std::size_t kBackDated = 5;
inline constexpr std::size_t kVoidsByOne = 3;
inline constexpr double kManyAttempts = 3;

/// When a vial stood open: of each vial that a run of the month names.
struct VialSpell {
    std::optional<base::Moment> opened, ended;
};

/// An annulment of one of the month's runs.
struct VoidedRun {
    base::Seq seq;
    base::OperatorId by;
    base::MeterId meter;
};

struct PatternInput {
    std::span<const MonthMeterInput> meters; ///< of all wards
    const MonthFigures& figures;             ///< of the ward that is looked at
    const Zone& zone;
    std::map<std::string, VialSpell> vials {};
    std::vector<base::Seq> corrections {}; ///< every correction on record
    std::vector<VoidedRun> voided {};      ///< on the ward that is looked at
    std::vector<OperatorRecord> people {};
};

/// code  same-value, small-spread, only-at-mean, no-failure, same-minute, vial-not-open, back-dated, amended-to-accepted, voids-by-one,
///       run-at-repair, many-attempts, no-control-run
struct Pattern {
    std::string code;
    std::string text;               ///< one sentence for people
    std::vector<std::string> about; ///< meters or people, ids
    std::vector<base::Seq> evidence {};
};

/// In the order of the codes above, then by meter.
std::vector<Pattern> patternsOf(const PatternInput& input);

/// Stands above the list wherever it is shown.
inline constexpr std::string_view kPatternsNote
    = "These patterns stand out in the record and need a human eye. They say nothing about a cause or about anybody's work.";

} // namespace mk::registry
