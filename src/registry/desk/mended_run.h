// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// The run that a correction speaks of, and what it makes of it.
namespace mk::registry::desk {

/// The newest attempt of the level, settled: what stands is judged before it is changed, so that the chain shows both verdicts.
/// entered  the correction's own entry: what was run later it does not speak of; none: it is entered now
base::Result<RunRecord> correctedRun(const Desk& desk, const acts::EntryCorrected& act, std::optional<base::Seq> entered = std::nullopt);
/// The run as the correction leaves it.
/// errors  Refused where it names no column, or another value than stands there
base::Result<acts::ControlRun> corrected(const RunRecord& run, const acts::EntryCorrected& act, const Zone& zone);

} // namespace mk::registry::desk
