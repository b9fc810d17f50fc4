// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/reader.h"

namespace mk::store {

/// The proficiency samples of a meter, oldest first, with what was returned and scored.
base::Result<std::vector<registry::EqaSample>> eqaSamples(Reader& reader, const base::MeterId& meter);
/// One sample by its key; nothing where it is not on record.
base::Result<std::optional<registry::EqaSample>> eqaSample(
    Reader& reader, const std::string& scheme, const std::string& event, const std::string& sample);

/// What the other meters' controls said on the lots of a set since its drift began, a level each. Leaves the meter itself out of its
/// company.
base::Result<std::vector<registry::DriftCompany>> driftCompany(Reader& reader, const registry::SetRecord& set, base::Moment at);

/// Calibrations, proficiency samples and, where a drift stands, the other meters: into the meter's history.
base::Done historyOfQuality(Reader& reader, registry::MeterHistory& history, base::Moment at);

} // namespace mk::store
