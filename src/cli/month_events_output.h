// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "registry/month/month_events.h"

namespace mk::cli {

/// What happened in a month, inside an object that is open already: `comparisons`, `lookbacks`, `nonconformities`, `notices`, `vials`,
/// `competency`, `cleaning`, `proficiency`, `annulled` and `corrected`, each a list, each with the entries it rests on as `evidence`.
void writeMonthEvents(JsonWriter& json, const registry::MonthEvents& events, const registry::Zone& zone);

} // namespace mk::cli
