// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <span>

/// The ladder after a failed control (handbook 4.6): stop, check the technique, repeat once, new control vial, new strip vial, withdraw.
/// A level fails with a valid run that is rejected; which step a further run of it is follows from its vials, held against those that
/// failed.
namespace mk::registry {

/// sets              of one meter after its last accepted set, oldest first; the newest may be accepted and then ends the climb
/// techniqueChecks   times of its technique checks, oldest first
Ladder climb(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks);

/// Every climb in a meter's sets, oldest first; the last one may be unfinished. Sets that failed nothing make none.
std::vector<Ladder> climbsIn(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks);

/// May this run be recorded beside the attempts so far? With one repeat a step, a third on the same vials needs its reason as a deviation;
/// an error code is repeated once in its set. errors  Refused, naming the step that comes now
base::Done mayAttempt(const acts::ControlRun& run, const Ladder& ladder, int repeatsPerStep = 1);

/// Was a run refused for the count of its attempts alone? Each such refusal asks for the reason as a deviation.
bool isOneTooMany(const base::Fault& fault);

/// Is something failed that no accepted set has ended? Moved forward set by set.
bool failsAfter(bool before, const SetRecord& set);

/// How far the failed results lie from their targets, the worst of each level: "high control +18.0 %"; empty where no number tells.
std::string errorInWords(std::span<const SetRecord> sets);

/// The points of the technique check (handbook 4.6 and 4.7), in the order in which they are looked at; the last ones concern the patient.
enum class TechniquePoint {
    RightLevel,
    ControlMixed,
    FirstDropWiped,
    StripInDate,
    StripInserted,
    Temperature,
    CapClosed,
    ControlMode,
    StripUsedAtOnce,
    EnoughDrop,
    ResultWithUnit,
    Identity,
    HandsWashed,
    NoResidue,
    HandWarm,
    SideOfFinger,
    LancetSingleUse,
    NoMilking,
    DropByPolicy,
    GlovesChanged,
    MeterDisinfected
};
template <>
struct Words<TechniquePoint> {
    static constexpr std::string_view what = "point of the technique check";
    static constexpr std::string_view all[] = { "right-level", "control-mixed", "first-drop-wiped", "strip-in-date", "strip-inserted",
        "temperature", "cap-closed", "control-mode", "strip-used-at-once", "enough-drop", "result-with-unit", "identity", "hands-washed",
        "no-residue", "hand-warm", "side-of-finger", "lancet-single-use", "no-milking", "drop-by-policy", "gloves-changed",
        "meter-disinfected" };
};
/// errors  BadInput naming a word that is not on the list
base::Done checkTechniqueWords(std::string_view words);

} // namespace mk::registry
