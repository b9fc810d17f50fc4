// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "report/drawing/chart_theme.h"
#include "report/drawing/study_plot.h"

#include <QRectF>

class QPainter;

/// One panel of a study's plot on paper. Lengths in pixels of 1/96 inch.
namespace mk::report {

/// The height that the panel's legend takes below its axes; 0 without one.
double legendHeight(const PlotPanel& panel, const ChartTheme& theme, double width);
/// The height, without legend, at which a panel of that width has axes of equal length.
double squarePanelHeight(const PlotPanel& panel, const ChartTheme& theme, double width);
/// Draws the panel, its title above and its legend below, into that part of the paper.
void paintPlotPanel(const PlotPanel& panel, const ChartTheme& theme, QPainter& painter, const QRectF& into);

} // namespace mk::report
