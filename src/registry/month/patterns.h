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

enum class PatternCode {
    SameValue,
    SmallSpread,
    OnlyAtMean,
    NoFailure,
    SameMinute,
    VialNotOpen,
    BackDated,
    AmendedToAccepted,
    VoidsByOne,
    RunAtRepair,
    ManyAttempts,
    NoControlRun,
    BadControlVial
};
template <>
struct Words<PatternCode> {
    static constexpr std::string_view what = "pattern";
    static constexpr std::string_view all[] = { "same-value", "small-spread", "only-at-mean", "no-failure", "same-minute", "vial-not-open",
        "back-dated", "amended-to-accepted", "voids-by-one", "run-at-repair", "many-attempts", "no-control-run", "bad-control-vial" };
};

/// What the sentence of a pattern needs; each uses some.
/// count     how many values, sets or runs; attempts of many-attempts
/// accepted  sets of many-attempts
/// at        on the wall of the registry's zone
/// ended     the vial was named after its end, else before its opening; of a bad control vial: another vial ended the failures
struct PatternFacts {
    std::size_t count = 0, accepted = 0;
    std::optional<Level> level {};
    std::string value {}, lot {}, vial {}, set {};
    std::optional<base::Date> first {}, last {};
    std::optional<base::Moment> at {};
    bool ended = false;
};

/// about  meters or people, ids; of the codes that speak of one meter or person only that one
struct Pattern {
    PatternCode code {};
    PatternFacts facts {};
    std::vector<std::string> about {};
    std::vector<base::Seq> evidence {};
};

/// In the order of the codes, then by meter.
std::vector<Pattern> patternsOf(const PatternInput& input);

} // namespace mk::registry
