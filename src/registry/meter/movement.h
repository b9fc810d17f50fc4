// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/acceptance.h"
#include "registry/policy/policy.h"
#include "registry/terms/zone.h"

/// What each movement of a meter must have with it (handbook 1.4, "evidence demanded"). Who may make it: see mayMove.
namespace mk::registry {

struct MovementEvidence {
    MeterState state = MeterState::Received; ///< before the movement
    base::Moment since;                      ///< from when it was in that state
    base::Moment at;                         ///< when the movement takes effect
    std::optional<ModelRecord> model {};
    bool insertKnown = false; ///< the edition of its insert is on record
    std::span<const Record<acts::AcceptanceChecked>> checks {};
    std::span<const SetRecord> newestSets {}; ///< newest first
    std::span<const PairRecord> pairs {};     ///< of the laboratory comparison, oldest first
    std::span<const IncidentRecord> incidents {};
};

/// Asked only of what a person records: papers that files cannot carry are not asked of what was taken over.
/// errors  Refused, naming what is missing and the option that gives it
base::Done papersSuffice(const acts::MeterMoved& movement, const MovementEvidence& evidence, const Policy& policy, const Zone& zone);

} // namespace mk::registry
