// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <string>

namespace mk::base {

/// Why one of several readings failed: the disk's or the server's own answer before the guess that the file is damaged.
/// what  what they were read for
template <typename... R>
Fault unread(const std::string& what, const R&... readings)
{
    Fault fault { FaultKind::Damaged, what + " cannot be read; run verify" };
    bool ground = false;
    const auto look = [&](const auto& reading) {
        if (reading || ground)
            return;
        using enum FaultKind;
        const auto kind = reading.error().kind;
        ground = kind == Io || kind == Unreachable || kind == Busy || kind == Full || kind == ReadOnly || kind == Denied;
        if (ground)
            fault = reading.error();
    };
    (look(readings), ...);
    return fault;
}

} // namespace mk::base
