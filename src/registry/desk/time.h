// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// What an act of any kind must satisfy: its time, its words; and the acceptance of late entries.
namespace mk::registry::desk {

base::Done mayBeOfThatTime(const Desk& desk, const Act& act);
/// What a person types, and how late.
base::Done mayBeTyped(const Desk& desk, const Act& act);
base::Done admit(const Desk& desk, const acts::LateEntryAccepted& act);

} // namespace mk::registry::desk
