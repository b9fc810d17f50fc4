// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_patterns.h"
#include "store/read/reader.h"

namespace mk::store {

/// Patterns of the last thirty days that concern the meter: itself, its vials, the people who ran it, and its late passes.
base::Result<std::vector<registry::FailurePattern>> patternsOf(Reader& reader, const base::MeterId& meter, base::Moment at);

} // namespace mk::store
