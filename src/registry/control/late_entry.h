// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

/// Runs that are entered after the fact (handbook 7.2, 8.2, 10.3). Pure.
namespace mk::registry {

/// performed  the run's own time; recorded  when the journal took it
/// imported   such an entry is never late: it was made where it came from
/// keptSince  when it was kept at a workstation because the server was away: that is when a person entered it
EntryMark markOf(base::Moment performed, base::Moment recorded, std::string enteredBy, bool imported, const Policy& policy,
    std::optional<base::Moment> keptSince = {});

/// May a person enter this run now?
/// errors  Refused where it lies further back than the policy's hours and gives neither the paper's number nor a reason
base::Done mayEnterLate(const acts::ControlRun& run, base::Moment now, const Policy& policy);

/// Claimed from memory long after: no paper stands behind it. It counts as a control, but not as one done in time, until a coordinator
/// accepts it.
bool needsAcceptance(const RunRecord& run);
bool needsAcceptance(const SetRecord& set);
bool recordedLate(const SetRecord& set);

/// What stands in the record where a script gave no reason.
inline constexpr std::string_view kNoReasonGiven = "no reason given";

} // namespace mk::registry
