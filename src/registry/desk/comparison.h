// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Pairs of the laboratory comparison (handbook 5).
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::ComparisonRecorded& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::ComparisonRecorded& act);

} // namespace mk::registry::desk
