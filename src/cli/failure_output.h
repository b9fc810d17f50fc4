// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/reader.h"

#include <vector>

namespace mk::cli {

/// What failed on a meter and what became of it, inside an object that is open already: `lookbacks`, `ladder` (where it stands now),
/// `climbs` (attempts per accepted set), `nonconformities` and `patterns`.
/// from  climbs and sets from then on
base::Done writeFailures(JsonWriter& json, store::Reader& reader, const base::MeterId& meter,
    const std::vector<registry::LookbackRecord>& lookbacks, base::Moment from, base::Moment at);

} // namespace mk::cli
