// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"

namespace mk::registry {

/// The proficiency samples of a meter, oldest first, with what was returned and scored.
base::Result<std::vector<EqaSample>> eqaSamples(Facts& facts, const base::MeterId& meter);
/// One sample by its key; nothing where it is not on record.
base::Result<std::optional<EqaSample>> eqaSample(
    Facts& facts, const std::string& scheme, const std::string& event, const std::string& sample);

} // namespace mk::registry
