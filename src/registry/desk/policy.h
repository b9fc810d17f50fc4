// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

namespace mk::registry::desk {

/// What a new version of the policy must satisfy.
base::Done admit(const Desk& desk, const acts::PolicyChanged& act);

} // namespace mk::registry::desk
