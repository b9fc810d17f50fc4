// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_ladder.h"

/// What fails again and again, and sets that were accepted only after many attempts. A question to the process, never to a person.
namespace mk::registry {

/// A first attempt that was rejected.
struct FailedFirst {
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    base::StripVialId stripVial;
    base::ControlVialId controlVial;
    Level level {};
};

/// What many failures have in common, or a set that passed late.
enum class FailureSubject { Meter, StripVial, ControlVial, Operator, LatePass };
template <>
struct Words<FailureSubject> {
    static constexpr std::string_view what = "pattern of failures";
    static constexpr std::string_view all[] = { "meter", "strip-vial", "control-vial", "operator", "late-pass" };
};

struct FailurePattern {
    FailureSubject kind {};
    std::string subject; ///< the id; for late-pass the accepted set
    int count = 0;       ///< failed first attempts, or attempts until it passed
    base::Moment last;
};

inline constexpr int kPatternDays = 30;
inline constexpr int kPatternFailures = 3;
inline constexpr int kLatePassAttempts = 3;

/// failures  of the whole registry, any order; those older than kPatternDays before `at` are left out
/// climbs    of the meter asked about
std::vector<FailurePattern> failurePatterns(std::span<const FailedFirst> failures, std::span<const Ladder> climbs, base::Moment at);

} // namespace mk::registry
