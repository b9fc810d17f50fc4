// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

#include <QString>

#include <optional>

/// What the entries of a record's history said.
namespace mk::words {

/// One entry as a line: "low 46 mg/dL on M-07 at 2026-11-18T06:52:00+01:00 by n-arlen, strips S2611-09, control CL-418-3". Of an act
/// without a sentence of its own, its fields with their names in a file. keptSince  where it was delivered late: since when the workstation
/// kept it, on the wall clock
QString historyLine(const registry::Act& act, std::optional<base::Moment> keptSince);

} // namespace mk::words
