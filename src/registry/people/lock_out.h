// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/moment.h"

#include <cstdint>
#include <optional>
#include <span>

/// How long an id is locked after failed tries to sign in. Pure: what the journal says of one id, and the policy's two figures.
namespace mk::registry {

struct SecretEvent {
    enum class What { Failed, CameIn, Unlocked, NewSecret };
    What what = What::Failed;
    base::Moment at;
};

struct LockOut {
    std::int64_t failures = 0; ///< in a row, since the id last came in, was unlocked or got a new secret
    std::optional<base::Moment> lastFailure, until;

    bool locked(base::Moment now) const { return until && now < *until; }
};

/// events   of one id, in the order of their entries
/// tries    from so many failures in a row on, each locks the id
/// minutes  for so long
/// A failure while the id is locked was not checked: it neither counts nor makes the lock longer, so that nobody can be kept out by others'
/// tries for longer than the policy says.
LockOut lockOutOf(std::span<const SecretEvent> events, int tries, int minutes);
/// What one more failure makes of it.
LockOut withFailure(LockOut before, base::Moment at, int tries, int minutes);

} // namespace mk::registry
