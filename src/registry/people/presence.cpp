// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/presence.h"

namespace mk::registry {

Presence presenceAfter(std::int64_t idleMs, int autoLogoffMinutes)
{
    const std::int64_t limit = autoLogoffMinutes * std::int64_t { 60'000 };
    if (idleMs >= limit)
        return Presence::Gone;
    return idleMs >= limit - kWarnedBeforeMs ? Presence::LeavesSoon : Presence::Here;
}

} // namespace mk::registry
