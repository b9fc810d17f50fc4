// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"
#include "registry/meter/reason_facts.h"

#include <span>
#include <string>
#include <vector>

namespace mk::registry {

/// One finding that stands: its code (interface.md), what its sentence needs, whether it keeps the meter from use, and its evidence.
struct Reason {
    ReasonCode code {};
    ReasonFacts facts {};
    bool blocks = true;
    std::vector<base::Seq> evidence {};
    std::optional<base::Moment> since {}; ///< from when on it stands, where that is known
};

/// levels   to be run
/// subject  the ward that confirms, the sample that waits, the older vial beside which one is run
/// ladder   the step that comes now
/// material what comes into use
struct NextStep {
    StepKind what {};
    std::optional<base::Moment> by {}; ///< none: now
    std::vector<Level> levels {};
    std::string subject {};
    LadderStanding ladder {};
    std::optional<NewMaterial> material {};

    /// The same thing to do, whenever it is due.
    bool same(const NextStep& other) const
    {
        return what == other.what && levels == other.levels && subject == other.subject && ladder == other.ladder
            && material == other.material;
    }
};

/// May this meter be used at that moment? Everything that stands, and when a yes turns into a no by itself.
struct Fitness {
    base::Moment at;
    MeterState state = MeterState::Received;
    std::optional<base::Moment> stateSince;
    bool usable = false;
    std::optional<base::Moment> until; ///< none where it is not usable
    Advice advice = Advice::Hold;
    std::vector<Reason> reasons; ///< those that block first
    std::vector<NextStep> next;  ///< most urgent first
};

/// The one question of the registry, answered from what is on record. Pure: history, policy and the moment come in.
/// history  nothing in it later than `at`
Fitness assess(const MeterHistory& history, const Policy& policy, base::Moment at, const Zone& zone);

/// Until when an accepted set clears a meter, by the policy's rule; that instant itself is no longer covered.
base::Moment clearedUntil(base::Moment acceptedAt, const Policy& policy, const Zone& zone);
/// The same of an accepted set: while a drift is told of, the policy may want controls more often.
base::Moment clearedUntil(const SetRecord& accepted, const Policy& policy, const Zone& zone);

/// The same wall time `period` later, clamped to the month's last day.
base::Moment later(base::Moment from, base::Period period, const Zone& zone);

/// From when on an accepted set says something: the earliest of the runs that speak for its levels. What happened later than that is not
/// cleared by it, though its last run came after.
base::Moment clearsSince(const SetRecord& set);

/// Brings a meter's incidents up to a moment into its history: events since the newest accepted set and those behind open stops, cleanings,
/// error codes. The history has its newest accepted set and its open stops already.
/// incidents  of the meter, oldest first
void addIncidents(MeterHistory& history, std::span<const IncidentRecord> incidents, base::Moment at, const Policy& policy);

/// The part of a set that had been run by `at`, with the verdict that part has.
SetRecord setUpTo(SetRecord set, base::Moment at, const Policy& policy);

} // namespace mk::registry
