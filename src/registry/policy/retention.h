// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/moment.h"
#include "registry/policy/policy.h"

/// For how long records are kept (handbook 8.7). Nothing goes by itself when its time is over.
namespace mk::registry {

/// The last day on which a record of that day must still be there.
base::Date retentionEnds(base::Date recorded, const Policy& policy);

/// The newest day whose records have had their time by the end of the day before `today`; a purge may not reach beyond it.
base::Date retainedSince(base::Date today, const Policy& policy);

} // namespace mk::registry
