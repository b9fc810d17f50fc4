// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"
#include "registry/acts/records.h"
#include "registry/terms/zone.h"

#include <string>
#include <vector>

/// The invented meter M-07, whose story runs through the project's pictures: HI on 7 October, a fall on the 14th, a new strip lot on the
/// 19th, 338 on the 29th, an expired vial on 1 November, and a slow drift upward from 27 October to 12 November.
namespace mk::report::sample {

const registry::Zone& zone();
/// Local time in 2026.
base::Moment at(unsigned month, unsigned day, int hour, int minute);

/// Sets judged by the registry's own rules; oldest first, 1 October to 12 November.
std::vector<registry::SetRecord> m07Sets();
std::vector<registry::IncidentRecord> m07Incidents();
std::vector<registry::StateSpell> m07States();

/// The October of a ward of `meters` meters, M-07 among them, and as many on another ward with the same lots.
std::vector<registry::MonthMeterInput> wardInput(int meters);

} // namespace mk::report::sample
