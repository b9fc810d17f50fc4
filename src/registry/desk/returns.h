// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// The way of a stopped meter back into service.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::ReturnStep& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::ReturnStep& act);
/// Do the records bear that step out? Asked of a return to reserve too, which is a movement.
base::Done mayStepBack(const Desk& desk, const acts::ReturnStep& step);

} // namespace mk::registry::desk
