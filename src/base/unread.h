// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

namespace mk::base {

/// Why one of several readings failed: the disk's or the server's own answer before the guess that the file is damaged.
/// sentence  says that what they were read for cannot be read, with its name in the place
template <typename... R>
Fault unread(Sentence<1> sentence, const Arg& name, const R&... readings)
{
    Fault why = fault(FaultKind::Damaged, sentence, name);
    bool ground = false;
    const auto look = [&](const auto& reading) {
        if (reading || ground)
            return;
        using enum FaultKind;
        const auto kind = reading.error().kind;
        ground = kind == Io || kind == Unreachable || kind == Busy || kind == Full || kind == ReadOnly || kind == Denied;
        if (ground)
            why = reading.error();
    };
    (look(readings), ...);
    return why;
}

} // namespace mk::base
