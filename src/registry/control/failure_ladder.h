// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <span>

/// The ladder after a failed control (handbook 4.6): stop, check the technique, repeat once, new control vial, new strip vial, withdraw.
/// A level fails with a valid run that is rejected; which step a further run of it is follows from its vials, held against those that
/// failed.
namespace mk::registry {

/// One valid run since the last accepted set.
struct LadderAttempt {
    base::Seq run;
    base::SetId set;
    base::Moment at;
    Level level {};
    base::OperatorId by;
    base::StripVialId stripVial;
    base::ControlVialId controlVial;
    bool failed = false;    ///< rejected
    bool noResult = false;  ///< an error code
    bool deviation = false; ///< one more on the same vials, with the reason on record
    int step = 0;           ///< 0 before anything failed; 2 same vials again, 3 new control vial, 4 new strip vial
};

/// What lay behind a failure, as the step shows that ended it.
enum class LadderEnding { Random, ControlMaterial, StripVial, Exhausted };
template <>
struct Words<LadderEnding> {
    static constexpr std::string_view what = "ending";
    static constexpr std::string_view all[] = { "random", "control-material", "strip-vial", "ladder-exhausted" };
};

/// One climb: from the first failure after an accepted set to the next accepted set, or as far as it has come.
struct Ladder {
    std::vector<LadderAttempt> attempts; ///< oldest first
    int step = 0;                        ///< the step to take now: 0 nothing failed, 1 technique and repeat, 2 repeat, 3, 4, 5 withdraw
    std::optional<Level> level {};       ///< that owes it: of several the one that is furthest
    int rounds = 0;                      ///< attempts of the level that took most: attempts per accepted set
    bool shift = false;                  ///< a shift rule was among what failed: one good value does not clear it
    bool passed = false;                 ///< an accepted set ended it
    std::optional<LadderEnding> ending;
    std::vector<std::string> spentVials; ///< the vials that the ending points to
    std::optional<base::SetId> acceptedSet;
    std::optional<base::Moment> firstFailure, endedAt;
    std::optional<base::Seq> exhaustedBy; ///< the run that failed last on the last step
    std::optional<base::Moment> techniqueChecked;

    /// The newest attempt of a level that failed or gave no result; null where none did.
    const LadderAttempt* newestFailure(Level of) const;
};

/// sets              of one meter after its last accepted set, oldest first; the newest may be accepted and then ends the climb
/// techniqueChecks   times of its technique checks, oldest first
Ladder climb(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks);

/// Every climb in a meter's sets, oldest first; the last one may be unfinished. Sets that failed nothing make none.
std::vector<Ladder> climbsIn(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks);

/// May this run be recorded beside the attempts so far? With one repeat a step, a third on the same vials needs its reason as a deviation;
/// an error code is repeated once in its set. errors  Refused, naming the step that comes now
base::Done mayAttempt(const acts::ControlRun& run, const Ladder& ladder, int repeatsPerStep = 1);

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
