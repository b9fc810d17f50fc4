// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "report/scenes/chart_scene.h"
#include "report/drawing/chart_theme.h"

#include <QPointF>
#include <QRectF>
#include <QString>

#include <vector>

/// Where everything of a control chart stands, in pixels of one size of the chart. No widget, no painter.
namespace mk::report {

enum class TextRole { Title, LevelName, Event, Rule, RuleMark, RunLabel, RunNote, EdgeSd, EdgeMean, EdgeUsual, EdgeRange };

struct PlacedText {
    QString text;
    QRectF rect;
    TextRole role = TextRole::RunLabel;
    bool stop = false; ///< said of something that must not be used
};

struct PlacedPanel {
    QRectF plot;                 ///< whole pixels
    std::vector<QPointF> points; ///< as in LevelPanel::points
    std::vector<double> ticks;   ///< values
};

struct ChartLayout {
    std::vector<PlacedPanel> panels;
    std::vector<PlacedText> texts; ///< none overlaps another
    std::vector<double> eventX;    ///< as in ControlChartScene::events
    double eventTop = 0;           ///< where their lines begin
    std::vector<double> dayTicks;  ///< wall seconds
    double pointRadius = 3;
};

/// size   in pixels; below about 300 x 200 the panels come out empty
/// A word that finds no free place is left out: the tooltip and the table beside the chart hold it as well.
ChartLayout layOut(const ControlChartScene& scene, const ChartTheme& theme, QSizeF size);

QFont fontOf(TextRole role, const ChartTheme& theme);

} // namespace mk::report
