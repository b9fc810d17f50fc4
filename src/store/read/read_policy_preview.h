// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/preview/policy_preview.h"
#include "store/read/reader.h"

namespace mk::store {

/// What the candidate would have meant over the period, a part for each meter that was enrolled by its end. Writes nothing.
/// ward    only meters that are on it at the end of the period
/// errors  NotFound for an unknown ward; Damaged
base::Result<std::vector<registry::PreviewOfMeter>> previewOf(
    Reader& reader, const registry::Policy& candidate, const registry::PreviewPeriod& period, const std::optional<base::WardId>& ward);

} // namespace mk::store
