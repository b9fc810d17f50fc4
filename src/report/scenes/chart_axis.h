// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/zone.h"

#include <string>
#include <vector>

/// Times and values along the axes of a chart. A time axis is drawn in seconds on the ward's wall clock, whatever zone the process is in.
namespace mk::report {

/// Seconds on the wall clock of the zone, counted as if every day had 24 hours; what a time axis of a chart is drawn in.
double wallSeconds(base::Moment at, const registry::Zone& zone);
/// The day of such a time.
base::Date dayOfWallSeconds(double seconds);

/// Days for the ticks of a time axis, at most `most`: every 1st, 2nd, 7th or 14th day, or the first of months.
/// returns    wall seconds of their midnights, ascending
std::vector<double> dayTicks(double from, double to, int most);
/// Round numbers for the ticks of a value axis, at most `most`, ascending.
std::vector<double> roundTicks(double lower, double upper, int most);

} // namespace mk::report
