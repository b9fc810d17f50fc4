// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"
#include "registry/terms/reason.h"

#include <span>

/// The stored state of a meter: which transitions exist (handbook 1.4), what a return demands. What an incident does: terms/reason.h.
namespace mk::registry {

/// May a movement bring a meter from one state to another?
/// errors  Refused, in words: no such transition, or not for that role
base::Done mayMove(MeterState from, MeterState to, Role role);

/// What the open stops of a meter demand before it may be signed back.
struct ReturnDemands {
    bool inspection = false;
    bool comparison = false;
    int acceptedSets = 1;
    base::Moment since;     ///< evidence older than this does not count: the earliest stop
    base::Moment setsSince; ///< for accepted sets: after every cause happened, and for a withdrawal after it began
};

struct ReturnEvidence {
    MeterState state = MeterState::OnHold;
    std::span<const StopRecord> openStops;
    std::span<const IncidentRecord> causes; ///< the incidents behind the stops
    std::span<const ReturnRecord> steps;    ///< all return steps of the meter, oldest first
    std::span<const SetRecord> newestSets;  ///< newest first
    std::optional<PairRecord> newestPair;   ///< not excluded
    std::optional<OperatorRecord> person;
    base::Date today;                             ///< the day of the step
    bool byPerson = false;                        ///< recorded here: what a file cannot carry is asked too
    std::optional<base::Moment> firmwareNoted {}; ///< when the version of its software was last put on record
    std::optional<base::Moment> lotShown {}; ///< since a shift: the set that shows the lot, not the meter, or clears the meter on another
    std::optional<base::Seq> undecidedLookback {}; ///< neither decided nor given to somebody who decides it
    bool withdrawnForDrift = false;                ///< by hand, while it drifted
};

ReturnDemands demandsOf(const ReturnEvidence& evidence, const Policy& policy);

/// May this step be recorded on that evidence?
/// errors  Refused, naming what is missing
base::Done mayTakeReturnStep(const acts::ReturnStep& step, const ReturnEvidence& evidence, const Policy& policy);

} // namespace mk::registry
