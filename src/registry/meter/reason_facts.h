// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/lots/lot_effect.h"
#include "registry/terms/reason.h"

#include <variant>

/// What the sentence of a reason needs beside its code: facts, no words. Moments show the wall clock of the registry's zone.
namespace mk::registry {

/// The meter is in a state in which nobody uses it.
struct OutOfService {
    MeterState state {};
    base::Moment since;
    bool endsByItself = false; ///< on hold: the next accepted set ends it
};
/// The registry did not know it as in service at that moment.
struct NotYetInService { };

/// A level whose newest result is rejected.
struct FailedLevel {
    Level level {};
    Reading result;
    base::GlucoseUnit unit {};
    std::optional<base::Decimal> above, below; ///< the limit of the range that it crossed
    std::vector<std::string> rules;
};
struct FailedControl {
    std::vector<FailedLevel> levels;
    std::optional<LadderStanding> ladder; ///< where something failed before it
};

/// Levels that are to be run.
struct LevelsToRun {
    std::vector<Level> levels;
};
struct MissingLevels {
    std::vector<Level> missing, toRun;
};
struct IssuedUncontrolled {
    std::vector<Level> toRun;
};
struct MovedUncontrolled {
    base::WardId from, to;
    std::vector<Level> toRun;
};
struct ClearanceLost {
    Revocation why;
    std::vector<Level> toRun;
};

/// since  the policy by which it is overdue, where that came into force only after the due time
struct Overdue {
    base::Moment due;
    std::optional<base::Moment> policySince;
    std::vector<Level> toRun {};
};
struct DueAt {
    base::Moment due;
};

/// A strip vial that comes into use.
/// lot  where the whole lot is new; else empty
struct NewMaterial {
    std::string vial, lot;
    friend bool operator==(const NewMaterial&, const NewMaterial&) = default;
};
struct NewOnMeter {
    NewMaterial material;
    std::vector<Level> toRun;
};

/// Until when the open strip vial was good.
struct VialRanOut {
    std::string vial;
    base::Date lastDay;
};

/// shares   tiers of the round that were not met; none for a pair alone
/// allowed  as it was judged with, may be empty
struct FailedComparison {
    std::vector<TierShare> shares;
    Reading meter, laboratory;
    std::string allowed;
};

struct SampleOwed {
    std::string scheme, event, sample;
    base::Moment due;
    bool returnedLate = false;
};

/// bias  of the level that deviates most
struct Drifting {
    std::vector<std::string> rules;
    std::optional<acts::LevelBias> bias;
    std::optional<base::Date> began;
    LotEffect effect;
    bool beyondHalfLimit = false;
};

/// The meter moved from its own usual value (handbook 6.5).
/// level     the one that moved furthest of what is allowed
/// percent   how far from its usual value, or from the group where that is further and it has none of its own yet
/// controls  of the level
struct MovedFromUsual {
    bool up = true;
    Level level {};
    double percent = 0, allowed = 0;
    std::optional<base::Date> began {};
    std::size_t newest = 0;
    std::int64_t controls = 0;
    bool learning = false; ///< it has no usual value of its own yet: the group is the measure
    bool stopped = false;
};

struct StandingApart {
    double percent = 0;
    std::int64_t others = 0, controls = 0;
    base::Date compareBy {};
};

/// The meters on a lot moved together.
/// percent  nothing where the meter itself is only stopped with the others
struct LotMoved {
    base::StripLotId stripLot {};
    base::ControlLotId controlLot {};
    std::optional<double> percent {};
    std::int64_t meters = 0;
    std::optional<base::Date> since {};
    bool stopped = false;
};

struct WaitingLookback {
    base::Moment from, to;
};

/// Nothing: the code says it all.
using ReasonFacts = std::variant<std::monostate, OutOfService, NotYetInService, FailedControl, LevelsToRun, MissingLevels,
    IssuedUncontrolled, MovedUncontrolled, ClearanceLost, Overdue, DueAt, VialRanOut, FailedComparison, SampleOwed, Drifting, LotEffect,
    WaitingLookback, NewOnMeter, MovedFromUsual, StandingApart, LotMoved>;

} // namespace mk::registry
