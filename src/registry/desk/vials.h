// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Vials of strips and control solution: opened and ended.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::StripVialOpened& act);
base::Done admit(const Desk& desk, const acts::ControlVialOpened& act);
base::Done admit(const Desk& desk, const acts::VialEnded& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::VialEnded& act);

} // namespace mk::registry::desk
