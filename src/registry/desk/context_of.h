// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"
#include "registry/facts/facts.h"

namespace mk::registry::desk {

/// What is known about everything that a run names, for its verdict.
/// seq    its entry: what is assessed later changes no verdict
/// state  of the meter at the run's time
base::Result<RunContext> contextOf(Facts& facts, base::Seq seq, const acts::ControlRun& run, MeterState state);

} // namespace mk::registry::desk
