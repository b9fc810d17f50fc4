// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

#include <optional>
#include <string>
#include <vector>

/// Where a meter stands on the ladder after a failed control, as a value. How it is counted: registry/control/failure_ladder.h.
namespace mk::registry {

/// The step that comes now, as a sentence needs it.
struct LadderStanding {
    int step = 0;       ///< 0 nothing failed, 1 technique and repeat, 2 repeat, 3 new control vial, 4 new strip vial, 5 withdraw
    bool shift = false; ///< a shift rule was among what failed: one good value does not clear it
    friend bool operator==(const LadderStanding&, const LadderStanding&) = default;
};

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

    LadderStanding standing() const { return { step, shift }; }
    /// The newest attempt of a level that failed or gave no result; null where none did.
    const LadderAttempt* newestFailure(Level of) const;
};

} // namespace mk::registry
