// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "study/terminal/printing.h"
#include "report/drawing/study_plot.h"
#include "stats/basics/interval.h"

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

/// How the studies write figures and draw what several plots have: one way for all of them.
namespace mk::study {

/// A number for people to read: up to six significant digits.
std::string shortNumber(double number);
/// Up to six significant digits, or "-"
std::string maybeText(const std::optional<double>& number);
/// For titles and labels of a plot: four significant digits, whole numbers whole.
std::string titleNumber(double number);
/// Two decimals, so that 15.04 is not shown as 15: for percentages that are held against a limit; from 1e9 on as shortNumber. Or "-"
std::string hundredthsText(const std::optional<double>& number);
/// 0.95 as "95 %", to a millionth of a percent
std::string percentText(double part);
/// "1.2 to 3.4", or "-"
std::string boundsText(const std::optional<stats::Interval>& bounds);
/// "95 % interval"
std::string intervalName(double confidence);
/// "yes", "no", or "-"
std::string yesNoText(const std::optional<bool>& answer);
/// [lower,upper], or null
void writeBounds(JsonWriter& json, const std::optional<stats::Interval>& bounds);

/// 1, 2, 3 … n, as a plot counts values.
std::vector<double> runningNumbers(std::size_t n);
/// Means of groups as short strokes at 1, 2, 3 …
report::PlotCurve meanStrokes(const std::string& legend, const std::vector<double>& means);
/// Both edges of what is allowed from one x to another (a little to both sides where they are the same), dashed, the upper one first and
/// under the legend "allowed". edgesAt   the two edges at an x; a gap where it gives nothing
std::vector<report::PlotCurve> allowedCurves(double from, double to, const std::function<std::optional<stats::Interval>(double)>& edgesAt);
/// The names for an axis, long ones shortened with an ellipsis; none where they are too many to be read, or two would then look the
/// same: numbers stand there then, with namesKey in the footnote.
std::vector<std::string> axisNames(const std::vector<std::string>& names);
/// Which number stands for which name, as far as they are read at a glance: "1 a, 2 b".
std::string namesKey(const std::vector<std::string>& names);

} // namespace mk::study
