// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

/// Whoever is signed in and touches nothing is signed off by itself (handbook 9; 45 CFR 164.312(a)(2)(iii)).
namespace mk::registry {

enum class Presence {
    Here,
    LeavesSoon, ///< to be warned: the next key keeps them signed in
    Gone
};

/// How long before it a person is warned.
inline constexpr std::int64_t kWarnedBeforeMs = 30'000;

/// idleMs            since the last key, touch or movement of the mouse
/// autoLogoffMinutes the policy's
Presence presenceAfter(std::int64_t idleMs, int autoLogoffMinutes);

} // namespace mk::registry
