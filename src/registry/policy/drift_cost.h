// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

#include <optional>
#include <span>
#include <vector>

/// What a policy costs a ward before it is adopted: how often drift is told of falsely, and how soon a true change is (handbook 6.5).
namespace mk::registry {

/// One level of the ward's controls. cv   of one result by the target, percent; limit   half of what a comparison allows, percent
struct CostLevel {
    double cv = 0, limit = 0;
};

/// setsAMonth   of all its meters; daysASet   between two sets of one meter
/// spread       the SD within meters of the last months over that of the targets; 1 where it is not known
struct CostWard {
    std::size_t meters = 0;
    double setsAMonth = 0, daysASet = 1, spread = 1;
    bool spreadKnown = false;
    std::vector<CostLevel> levels {};
};

/// A step of so many percent. told, stopped   days until then on average; stopped: nothing where it never is
struct CostOfStep {
    double percent = 0, told = 0;
    std::optional<double> stopped {};
};

/// falseTells, falseStops   expected a month over the ward while nothing is wrong
/// halfLimit, wholeLimit    steps of half of what a comparison allows, and of all of it, at the level where it allows least
struct DriftCost {
    double falseTells = 0, falseStops = 0;
    CostOfStep halfLimit, wholeLimit;
};

/// errors  BadInput: no level, a CV or limit that is not above 0; and what the run lengths say of k and h out of bounds
/// source  handbook 6.5, "Preview says": run lengths of the one-sided CUSUM, averaged over the error of the usual value
base::Result<DriftCost> driftCost(const Policy& policy, const CostWard& ward);

} // namespace mk::registry
