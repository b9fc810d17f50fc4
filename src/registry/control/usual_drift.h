// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_registry.h"
#include "registry/acts/records.h"
#include "registry/policy/policy.h"
#include "stats/drift/drift_group.h"

#include <functional>
#include <span>
#include <vector>

/// A meter against its own usual value (handbook 6.5): between the records of the ward and stats/drift, where it is decided.
namespace mk::registry {

/// What happened to a meter between two sets, as its usual value sees it.
enum class UsualEvent { Restart, Accept };

/// The bases of a set's levels, and how the other meters on its lots stand. Nothing for a level that cannot be judged yet.
using BasesOf = std::function<std::vector<stats::LevelBasis>(const stats::SetOnLots&)>;

stats::UsualState stateFrom(const acts::UsualFinding& finding);
/// The finding of a set that does not count: all as it stands.
acts::UsualFinding findingOf(const stats::UsualState& state, const acts::UsualFinding& before);

/// Does it stand apart from the other meters, at any level?
bool standsApart(const acts::UsualFinding& finding);

/// "lot" or "meter" where the others on the lots could be asked, else empty.
std::string_view causeOf(const acts::UsualFinding& finding);

/// The meter as the others on its lots see it after that set.
stats::MeterStanding standingOf(const acts::UsualFinding& finding, base::Moment at, const stats::UsualSettings& settings);

stats::HalfLimit halfLimitOf(const Policy& policy, base::GlucoseUnit unit);

/// The first valid attempts of a set, as what it is judged by.
/// runs  oldest first, judged up to their range
stats::SetOnLots setOnLots(std::span<const RunRecord> runs);

/// Judges a set, and writes to its runs what each is by the usual value; repeats by what the set began with.
/// state  moved forward; bases  for setOnLots(runs)
acts::UsualFinding judgeUsual(stats::UsualState& state, std::vector<RunRecord>& runs, const stats::SetOnLots& set,
    const std::vector<stats::LevelBasis>& bases, const acts::UsualFinding& before, const Policy& policy);

} // namespace mk::registry
