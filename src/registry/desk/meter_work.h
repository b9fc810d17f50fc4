// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"
#include "registry/desk/drift_groups.h"
#include "registry/facts/facts.h"

#include <map>

namespace mk::registry::desk {

/// What one meter's next set is judged with: loaded once, then moved forward in memory.
struct MeterWork {
    MeterSeries before; ///< without the newest set, which may still grow
    MeterSeries after;
    std::optional<base::SetId> newest {};
    std::vector<StateSpell> states {};
    std::vector<SegmentBoundary> boundaries {};
    std::vector<SegmentBoundary> usualBoundaries {}; ///< as they stand now; `boundaries` are those of when the work was loaded
    std::vector<base::Moment> taken {};              ///< when it was taken as it stands, oldest first
    bool eventsKnown = false;
    bool statesKnown = false;
    bool failing = false; ///< something failed that no accepted set has ended

    /// Goes on past a set that comes after all that were followed.
    /// again  it is the newest one, judged once more
    void goOn(const SetRecord& set, const Policy& policy, bool again = false);
};

/// The working sets of a batch, kept from batch to batch.
struct MeterWorks {
    std::map<base::MeterId, MeterWork> meters;
    DriftGroups groups;

    void clear()
    {
        meters.clear();
        groups.forget();
    }
};

/// From as many of its newest sets as answer for the counters. The states are not read yet.
base::Result<MeterWork> loadWork(Facts& facts, const base::MeterId& meter, base::Moment now);

/// What happened to the meter's usual value, as it is known now.
base::Done loadEvents(Facts& facts, const base::MeterId& meter, MeterWork& work);

} // namespace mk::registry::desk
