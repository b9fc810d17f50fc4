// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Signed months.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::ReviewSigned& act);
/// Says of each signed month that an act touches that it was overtaken.
base::Done overtakeReviews(const Desk& desk, base::Seq seq, const Act& act);

} // namespace mk::registry::desk
