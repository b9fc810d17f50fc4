// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/usual_drift.h"
#include "registry/facts/facts.h"

#include <map>

namespace mk::registry::desk {

/// What the meters of each model together say of their lots: read from the facts when it is first asked for, then moved forward in memory.
class DriftGroups {
public:
    /// The bases of a set's levels as they stand before it.
    base::Result<std::vector<stats::LevelBasis>> basesFor(
        Facts& facts, const base::ModelId& model, const stats::SetOnLots& set, const Policy& policy);
    /// Goes on past a set that was entered.
    /// set     its results that are new
    /// before  the meter as it stood before the set; after  as the set left it
    void follow(const base::ModelId& model, const stats::SetOnLots& set, const stats::UsualState& before, const acts::UsualFinding& after,
        base::Moment at, const Policy& policy);
    /// What was judged has changed otherwise: all is read anew.
    void forget() { m_groups.clear(); }

private:
    struct Kept {
        stats::DriftGroup group;
        std::int64_t policyVersion = 0;
        std::int64_t newestMs = 0; ///< it stands as of this moment
        bool fewMeters = false;
    };
    base::Result<Kept> read(Facts& facts, const base::ModelId& model, const stats::SetOnLots& set, const Policy& policy);
    std::map<base::ModelId, Kept> m_groups;
};

} // namespace mk::registry::desk
