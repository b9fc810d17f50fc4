// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/eqa_samples.h"
#include "store/read/reader.h"

namespace mk::store {

/// What the other meters' controls said on the lots of a set since its drift began, a level each. Leaves the meter itself out of its
/// company.
base::Result<std::vector<registry::DriftCompany>> driftCompany(Reader& reader, const registry::SetRecord& set, base::Moment at);

/// Calibrations, proficiency samples and, where a drift stands, the other meters: into the meter's history.
base::Done historyOfQuality(Reader& reader, registry::MeterHistory& history, base::Moment at);

} // namespace mk::store
