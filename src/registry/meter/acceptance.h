// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "registry/acts/records.h"

#include <array>
#include <span>

/// The acceptance list of a meter (handbook 1.3).
namespace mk::registry {

struct AcceptanceLine {
    AcceptanceItem item {};
    std::optional<Record<acts::AcceptanceChecked>> newest; ///< none: not looked at since acceptance began
    bool met() const { return newest && newest->act.met == YesNo::Yes; }
};

using AcceptanceList = std::array<AcceptanceLine, 6>;

/// What was said of each item in [since, until]; the newest word counts.
AcceptanceList acceptanceList(std::span<const Record<acts::AcceptanceChecked>> checks, base::Moment since, base::Moment until);

/// errors  Refused, naming the items that are missing or were found not right
base::Done acceptanceComplete(const AcceptanceList& list);

} // namespace mk::registry
