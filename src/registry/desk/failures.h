// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Failed controls (handbook 4.6): the limit on repeats, the vial that was the cause, the withdrawal.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::TechniqueChecked& act);
/// Somebody's technique was seen to be wrong: what was measured like that waits for a look-back (handbook 7.1.1).
base::Done follow(const Desk& desk, base::Seq seq, const acts::TechniqueChecked& act);

/// Is a run within the ladder's limit on repeats?
/// returns  whether the ladder had to be looked at
base::Result<bool> mayRepeat(const Desk& desk, const acts::ControlRun& run);

base::Done followFailure(const Desk& desk, const SetRecord& set, base::Moment at);
/// An accepted set after a failure shows what was the cause.
base::Done followPass(const Desk& desk, const SetRecord& set, base::Moment at);

} // namespace mk::registry::desk
