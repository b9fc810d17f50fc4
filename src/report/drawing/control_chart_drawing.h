// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "report/drawing/chart_layout.h"

class QCustomPlot;

namespace mk::report {

/// Fills a plot with the scene, replacing what was in it. The plot has the size that the layout was made for.
void drawControlChart(QCustomPlot& plot, const ControlChartScene& scene, const ChartLayout& layout, const ChartTheme& theme);

/// Moves the ring of the selected set, or takes it away. Only for a plot that drawControlChart filled.
void ringSet(
    QCustomPlot& plot, const ControlChartScene& scene, const ChartLayout& layout, const ChartTheme& theme, std::optional<std::size_t> set);

} // namespace mk::report
