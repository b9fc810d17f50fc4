// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/study_plot.h"

#include "report/drawing/chart_file.h"
#include "report/drawing/study_plot_drawing.h"

#include <QFontMetrics>
#include <QPainter>

#include <algorithm>

namespace mk::report {

namespace {

constexpr int kPaperWidth = 960;
constexpr int kSquarePaperWidth = 640;
constexpr int kWideHeight = 300; ///< of a panel that goes from edge to edge
constexpr int kEdge = 20;

/// Where title, panels and footnote stand on the paper.
struct PlotPaper {
    QSize size;
    QRectF title;
    std::vector<QRectF> panels;
    QRectF footnote;
};

double heightOfText(const QFont& font, const std::string& text, double width)
{
    if (text.empty())
        return 0;
    const QRect room(0, 0, static_cast<int>(width), 10'000);
    return QFontMetrics(font).boundingRect(room, Qt::TextWordWrap, QString::fromStdString(text)).height();
}

/// Square panels stand side by side, one alone on a narrower paper; others go from edge to edge, below each other.
PlotPaper layOutPaper(const PlotScene& scene, const ChartTheme& theme)
{
    const bool square = std::ranges::all_of(scene.panels, &PlotPanel::sameScale);
    const auto columns = square ? static_cast<int>(scene.panels.size()) : 1;
    const int paperWidth = square && columns == 1 ? kSquarePaperWidth : kPaperWidth;
    const double width = paperWidth - 2 * kEdge;
    const double panelWidth = (width - (columns - 1) * kEdge) / columns;
    PlotPaper paper;
    paper.title = QRectF(kEdge, kEdge, width, heightOfText(theme.strong(), scene.title, width));
    double y = paper.title.bottom() + 12;
    double tallest = 0;
    for (std::size_t i = 0; i < scene.panels.size(); ++i) {
        const PlotPanel& panel = scene.panels[i];
        const double ownWidth = square || !panel.sameScale ? panelWidth : kSquarePaperWidth;
        const double height = (panel.sameScale ? squarePanelHeight(panel, theme, ownWidth) : kWideHeight)
            + legendHeight(panel, theme, ownWidth);
        paper.panels.emplace_back(kEdge + (square ? static_cast<double>(i) * (panelWidth + kEdge) : 0), y, ownWidth, height);
        tallest = std::max(tallest, height);
        y += square ? 0 : height + 16;
    }
    y += square ? tallest + 16 : 0;
    paper.footnote = QRectF(kEdge, y, width, heightOfText(theme.small(), scene.footnote, width));
    paper.size = QSize(paperWidth, static_cast<int>(paper.footnote.bottom()) + kEdge);
    return paper;
}

} // namespace

base::Done savePlot(const PlotScene& scene, const std::string& path)
{
    const ChartTheme theme = paperTheme(14);
    const PlotPaper paper = layOutPaper(scene, theme);
    return saveChart(QString::fromStdString(path), paper.size, QString::fromStdString(scene.title), QString::fromStdString(scene.footnote),
        [&](QPainter& painter, const QRectF& into) {
            painter.fillRect(into, Qt::white);
            painter.setPen(theme.ink);
            painter.setFont(theme.strong());
            painter.drawText(paper.title, Qt::TextWordWrap, QString::fromStdString(scene.title));
            for (std::size_t i = 0; i < scene.panels.size(); ++i)
                paintPlotPanel(scene.panels[i], theme, painter, paper.panels[i]);
            painter.setPen(theme.quiet);
            painter.setFont(theme.small());
            painter.drawText(paper.footnote, Qt::TextWordWrap, QString::fromStdString(scene.footnote));
        });
}

} // namespace mk::report
