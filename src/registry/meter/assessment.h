// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"

/// The inside of assess(): what has been found so far, and one function for each thing that is looked at. Only fitness*.cpp include it.
namespace mk::registry {

/// What is looked at, and what has been found by now.
struct Assessment {
    static constexpr std::int64_t kHour = 3'600'000; ///< ms

    const MeterHistory& history;
    const Policy& policy;
    base::Moment at;
    const Zone& zone;
    Fitness result {};
    std::optional<base::Moment> ends {}; ///< when a yes turns into a no by itself

    /// A code that stands already keeps what it said first, and gains evidence.
    void add(Reason reason);
    void add(ReasonCode code, std::vector<base::Seq> evidence, ReasonFacts facts = {}, std::optional<base::Moment> since = std::nullopt);
    /// Null where it does not stand.
    const Reason* standing(ReasonCode code) const;
    void endsAt(base::Moment moment) { ends = ends ? std::min(*ends, moment) : moment; }
    /// Each thing to do once.
    void then(NextStep step);
    void then(StepKind what, std::optional<base::Moment> by = std::nullopt) { then(NextStep { what, by }); }
    void thenRun(StepKind what, std::optional<base::Moment> by = std::nullopt) { then(NextStep { what, by, required() }); }

    base::Moment onTheWall(base::Moment moment) const { return zone.at(moment.utcMs); }
    const std::vector<Level>& required() const { return policy.requiredLevels; }
    /// A policy that came into force later never made yesterday unfit: then it is said by which rule it is overdue.
    Overdue overdue(base::Moment due, std::vector<Level> toRun = {}) const;
};

// Controls and what they are run with (fitness_controls.cpp).
void assessNewestSet(Assessment& a);
void assessClearance(Assessment& a);
void assessTransfer(Assessment& a);
void assessStripVial(Assessment& a);
void assessFirstUses(Assessment& a);

// The meter against its own usual value (fitness_usual.cpp).
void assessUsual(Assessment& a);

// What is owed by a date (fitness_due.cpp).
void assessComparison(Assessment& a);
void assessCalibration(Assessment& a);
void assessEqa(Assessment& a);
void assessReserve(Assessment& a);
void assessCleaning(Assessment& a);

} // namespace mk::registry
