// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/json_writer.h"
#include "report/study_plot.h"
#include "stats/summary.h"

#include <optional>
#include <string>
#include <vector>

namespace mk::cli {

/// [lower,upper], or null
void writeBounds(JsonWriter& json, const std::optional<stats::Interval>& bounds);
/// "1.2 to 3.4", or "-"
std::string boundsText(const std::optional<stats::Interval>& bounds);
/// Up to six significant digits, or "-"
std::string maybeText(const std::optional<double>& number);
/// "yes", "no", or "-"
std::string yesNoText(const std::optional<bool>& answer);
/// "95 %"
std::string percentText(double part);

/// A number for the title of a plot: four significant digits
std::string titleNumber(double number);

/// Means of groups as short strokes at 1, 2, 3 …
report::PlotCurve meanStrokes(const std::string& legend, const std::vector<double>& means);

/// The names for an axis, or none where they are too many to be read: numbers stand there then.
std::vector<std::string> axisNames(const std::vector<std::string>& names);

} // namespace mk::cli
