// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/lock_out.h"

namespace mk::registry {

LockOut withFailure(LockOut before, base::Moment at, int tries, int minutes)
{
    if (before.locked(at))
        return before;
    ++before.failures;
    before.lastFailure = at;
    before.until = before.failures >= tries ? std::optional(base::plusMs(at, minutes * std::int64_t { 60'000 })) : std::nullopt;
    return before;
}

LockOut lockOutOf(std::span<const SecretEvent> events, int tries, int minutes)
{
    LockOut state;
    for (const auto& event : events)
        state = event.what == SecretEvent::What::Failed ? withFailure(state, event.at, tries, minutes) : LockOut {};
    return state;
}

} // namespace mk::registry
