// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/terms/zone.h"

/// Proficiency samples (handbook 8.9): what the ward returned, and what the scheme's figures say of it.
namespace mk::registry {

/// Waiting: not returned and not yet due. Missing and Late count as failures with score zero, whatever was read.
enum class EqaBand { Waiting, Missing, Late, Returned, Satisfactory, Questionable, Action };
template <>
struct Words<EqaBand> {
    static constexpr std::string_view what = "band";
    static constexpr std::string_view all[] = { "waiting", "missing", "late", "returned", "satisfactory", "questionable", "action" };
};

/// z       none where nothing was scored, or where the result is no number
/// failed  not returned, returned late, or |z| >= 3
struct EqaJudged {
    EqaBand band = EqaBand::Waiting;
    std::optional<double> z;
    bool failed = false;
};

/// By `at`: nothing that was recorded for later counts. |z| <= 2 satisfactory, below 3 questionable, from 3 on action, compared exactly.
EqaJudged judgeEqa(const EqaSample& sample, base::Moment at, const Zone& zone);

/// A sample is in time through the whole day on which it is due: the first moment that is late.
base::Moment eqaDueUntil(const acts::EqaReceived& received, const Zone& zone);

} // namespace mk::registry
