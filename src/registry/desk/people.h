// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// People: changes to their accounts, their assessments, their shifts.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::OperatorChanged& act);
base::Done admit(const Desk& desk, const acts::CompetencyAssessed& act);
base::Done admit(const Desk& desk, const acts::ShiftBegun& act);
base::Done admit(const Desk& desk, const acts::ShiftEnded& act);

} // namespace mk::registry::desk
