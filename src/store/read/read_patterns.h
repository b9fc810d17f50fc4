// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/patterns.h"
#include "store/read/read_month.h"

namespace mk::store {

/// The patterns of a month that was read already, with what they need beyond its figures.
base::Result<std::vector<registry::Pattern>> readPatterns(Reader& reader, const MonthReading& reading);

} // namespace mk::store
