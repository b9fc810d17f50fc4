// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_patterns.h"
#include "registry/meter/climbs.h"
#include "registry/meter/nonconformities.h"
#include "store/read/reader.h"

/// What failed and what became of it, read from the register.
namespace mk::store {

using registry::climbsOf;
using registry::closingOf;
using registry::ladderAt;
using registry::nonconformities;
using registry::nonconformityOf;

/// Patterns of the last thirty days that concern the meter: itself, its vials, the people who ran it, and its late passes.
base::Result<std::vector<registry::FailurePattern>> patternsOf(Reader& reader, const base::MeterId& meter, base::Moment at);

} // namespace mk::store
