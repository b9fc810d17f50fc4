// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/control_chart_drawing.h"

#include "words/numbers.h"
#include "report/scenes/chart_axis.h"
#include "report/drawing/chart_marks.h"

#include <qcustomplot.h>

#include <algorithm>

namespace mk::report {

namespace {

QPainterPath triangleOut(double way)
{
    QPainterPath path;
    path.moveTo(0, -3 * way);
    path.lineTo(3, 2.4 * way);
    path.lineTo(-3, 2.4 * way);
    path.closeSubpath();
    return path;
}

enum class Mark { Circle, Ring, SquareWithBar, Cross, Up, Down };

Mark markOf(const ScenePoint& point)
{
    if (point.place == RunPlace::UpperFrame)
        return Mark::Up;
    if (point.place == RunPlace::LowerFrame && point.shape == RunShape::SquareWithBar)
        return Mark::Down;
    switch (point.shape) {
    case RunShape::Ring: return Mark::Ring;
    case RunShape::SquareWithBar: return Mark::SquareWithBar;
    case RunShape::Cross: return Mark::Cross;
    default: return Mark::Circle;
    }
}

class PlotFiller {
public:
    PlotFiller(QCustomPlot& plot, const ControlChartScene& scene, const ChartLayout& layout, const ChartTheme& theme)
        : m_plot(plot),
          m_scene(scene),
          m_layout(layout),
          m_theme(theme)
    {
    }

    void run()
    {
        m_plot.clearItems();
        m_plot.clearPlottables();
        m_plot.plotLayout()->clear();
        m_plot.setBackground(m_theme.surface);
        m_plot.setAntialiasedElements(QCP::aeAll);
        auto* inset = new QCPLayoutInset; // the plot's layout owns it
        inset->setMargins(QMargins());
        m_plot.plotLayout()->setAutoMargins(QCP::msNone);
        m_plot.plotLayout()->setMargins(QMargins());
        m_plot.plotLayout()->addElement(0, 0, inset);
        for (std::size_t i = 0; i < m_layout.panels.size(); ++i)
            addPanel(*inset, i);
        for (const double x : m_layout.eventX)
            addLine(
                { x, m_layout.eventTop }, { x, m_layout.panels.empty() ? 0 : m_layout.panels.back().plot.bottom() }, QPen(m_theme.line, 1));
        for (const auto& text : m_layout.texts)
            addText(text);
    }

private:
    void addPanel(QCPLayoutInset& inset, std::size_t at)
    {
        const PlacedPanel& placed = m_layout.panels[at];
        const LevelPanel& panel = m_scene.panels[at];
        const QSizeF size = m_plot.viewport().size();
        auto* rect = new QCPAxisRect(&m_plot, true);
        rect->setAutoMargins(QCP::msNone);
        rect->setMargins(QMargins());
        rect->setMinimumMargins(QMargins());
        inset.addElement(rect,
            QRectF(placed.plot.x() / size.width(), placed.plot.y() / size.height(), placed.plot.width() / size.width(),
                placed.plot.height() / size.height()));
        auto* time = rect->axis(QCPAxis::atBottom);
        auto* value = rect->axis(QCPAxis::atLeft);
        rect->axis(QCPAxis::atTop)->setVisible(false);
        rect->axis(QCPAxis::atRight)->setVisible(false);
        time->setRange(m_scene.from, m_scene.to);
        value->setRange(panel.lower, panel.upper);
        styleAxis(*time, at + 1 == m_layout.panels.size());
        styleAxis(*value, true);
        QSharedPointer<QCPAxisTickerText> days(new QCPAxisTickerText);
        for (const double day : m_layout.dayTicks)
            days->addTick(day, words::shortDay(dayOfWallSeconds(day)));
        time->setTicker(days);
        QSharedPointer<QCPAxisTickerText> values(new QCPAxisTickerText);
        for (const double tick : placed.ticks)
            values->addTick(tick, QString::number(tick));
        value->setTicker(values);
        addToldSpans(*rect, panel);
        addTargets(*time, *value, panel);
        addUsual(*time, *value, panel);
        addStems(placed, panel);
        addRuleLines(*time, *value, panel);
        addPoints(*time, *value, at);
    }

    void styleAxis(QCPAxis& axis, bool visible)
    {
        axis.setVisible(visible);
        axis.setBasePen(QPen(m_theme.line, 1));
        axis.setTickPen(QPen(m_theme.line, 1));
        axis.setTickLength(0, 4);
        axis.setSubTicks(false);
        axis.setTickLabelFont(m_theme.small());
        axis.setTickLabelColor(m_theme.quiet);
        axis.setTickLabelPadding(4);
        axis.grid()->setVisible(false);
    }

    void addTargets(QCPAxis& time, QCPAxis& value, const LevelPanel& panel)
    {
        const auto across = [&](const TargetSegment& segment, double y, const QPen& pen) {
            if (y < panel.lower || y > panel.upper)
                return;
            auto* graph = m_plot.addGraph(&time, &value);
            graph->setData({ segment.from, segment.to }, { y, y }, true);
            graph->setPen(pen);
            graph->setLayer(QStringLiteral("grid"));
            graph->setSelectable(QCP::stNone);
            graph->setAntialiased(false);
        };
        for (const auto& segment : panel.targets) {
            if (segment.mean && segment.sd) {
                const double share[] = { 0, 0.34, 0.17, 0 };
                for (const int k : { 3, 2, 1 })
                    for (const int side : { -1, 1 })
                        across(segment, *segment.mean + side * k * *segment.sd, QPen(between(m_theme.hairline, m_theme.line, share[k]), 1));
                across(segment, *segment.mean, QPen(m_theme.ink, 1.2));
            }
            QPen dashed(m_theme.ink, 1);
            dashed.setDashPattern({ 6, 4 });
            if (segment.low)
                across(segment, *segment.low, dashed);
            if (segment.high)
                across(segment, *segment.high, dashed);
        }
    }

    /// The usual value as a dotted line, and the mean of the newest controls beside it.
    void addUsual(QCPAxis& time, QCPAxis& value, const LevelPanel& panel)
    {
        const auto line = [&](const QPen& pen) {
            auto* graph = m_plot.addGraph(&time, &value);
            graph->setPen(pen);
            graph->setSelectable(QCP::stNone);
            return graph;
        };
        if (panel.usual.empty())
            return;
        QPen dotted(m_theme.ink, 1.4);
        dotted.setDashPattern({ 1, 3 });
        auto* usual = line(dotted);
        auto* newest = line(QPen(m_theme.quiet, 1.2));
        for (const auto& point : panel.usual) {
            usual->addData(point.x, std::clamp(point.usual, panel.lower, panel.upper));
            if (point.newest)
                newest->addData(point.x, std::clamp(*point.newest, panel.lower, panel.upper));
        }
    }

    /// Days on which a move was told of get a ground of their own.
    void addToldSpans(QCPAxisRect& rect, const LevelPanel& panel)
    {
        for (std::size_t i = 0; i < panel.usual.size(); ++i) {
            if (!panel.usual[i].told)
                continue;
            const std::size_t first = i;
            while (i + 1 < panel.usual.size() && panel.usual[i + 1].told)
                ++i;
            constexpr double kHalfADay = 12 * 3600; // a set told of alone is seen too
            auto* span = new QCPItemRect(&m_plot);  // the plot owns its items
            span->setClipAxisRect(&rect);
            for (auto* corner : { span->topLeft, span->bottomRight }) {
                corner->setAxisRect(&rect);
                corner->setAxes(rect.axis(QCPAxis::atBottom), rect.axis(QCPAxis::atLeft));
                corner->setTypeX(QCPItemPosition::ptPlotCoords);
                corner->setTypeY(QCPItemPosition::ptAxisRectRatio);
            }
            span->topLeft->setCoords(panel.usual[first].x - kHalfADay, 0);
            span->bottomRight->setCoords(panel.usual[i].x + kHalfADay, 1);
            span->setPen(QPen(Qt::NoPen));
            span->setBrush(m_theme.picked);
            span->setSelectable(false);
            span->setLayer(QStringLiteral("background"));
        }
    }

    static QColor between(const QColor& a, const QColor& b, double share)
    {
        const auto mix = [&](int from, int to) { return static_cast<int>(std::lround(from + (to - from) * share)); };
        return QColor(mix(a.red(), b.red()), mix(a.green(), b.green()), mix(a.blue(), b.blue()));
    }

    void addStems(const PlacedPanel& placed, const LevelPanel& panel)
    {
        for (std::size_t i = 0; i < panel.points.size(); ++i)
            if (const auto first = panel.points[i].stemTo)
                addLine(placed.points[*first], placed.points[i], QPen(m_theme.ink, 1.2), QStringLiteral("main"));
    }

    void addRuleLines(QCPAxis& time, QCPAxis& value, const LevelPanel& panel)
    {
        for (const auto& line : panel.ruleLines) {
            auto* graph = m_plot.addGraph(&time, &value);
            for (const auto at : line.points)
                if (panel.points[at].value)
                    graph->addData(panel.points[at].x, *panel.points[at].value);
            graph->setPen(line.mark ? QPen(m_theme.quiet, 1) : QPen(m_theme.ink, 1.5));
            graph->setSelectable(QCP::stNone);
        }
    }

    void addPoints(QCPAxis& time, QCPAxis& value, std::size_t at)
    {
        const LevelPanel& panel = m_scene.panels[at];
        for (const Mark mark : { Mark::Cross, Mark::Circle, Mark::Ring, Mark::SquareWithBar, Mark::Up, Mark::Down }) {
            QCPGraph* graph = nullptr;
            for (std::size_t i = 0; i < panel.points.size(); ++i) {
                if (markOf(panel.points[i]) != mark)
                    continue;
                if (graph == nullptr)
                    graph = markGraph(time, value, mark);
                graph->addData(panel.points[i].x, value.pixelToCoord(m_layout.panels[at].points[i].y()));
            }
        }
    }

    QCPGraph* markGraph(QCPAxis& time, QCPAxis& value, Mark mark)
    {
        // The scale of the axis is known only once its rectangle is.
        m_plot.plotLayout()->update(QCPLayoutElement::upPreparation);
        m_plot.plotLayout()->update(QCPLayoutElement::upMargins);
        m_plot.plotLayout()->update(QCPLayoutElement::upLayout);
        auto* graph = m_plot.addGraph(&time, &value);
        graph->setLineStyle(QCPGraph::lsNone);
        graph->setPen(QPen(Qt::NoPen)); // a filled mark without an outline takes this one
        graph->setAdaptiveSampling(false);
        graph->setSelectable(QCP::stNone);
        graph->setScatterStyle(styleOf(mark));
        return graph;
    }

    QCPScatterStyle styleOf(Mark mark) const
    {
        const double d = 2 * m_layout.pointRadius;
        const double big = std::max(d, 5.0) * 1.9;
        switch (mark) {
        case Mark::Circle: return QCPScatterStyle(QCPScatterStyle::ssCircle, QPen(Qt::NoPen), m_theme.ink, d);
        case Mark::Ring:
            return QCPScatterStyle(QCPScatterStyle::ssCircle, QPen(m_theme.ink, 1.8), m_theme.surface, std::max(d, 5.0) * 1.25);
        case Mark::Cross: return QCPScatterStyle(QCPScatterStyle::ssCross, QPen(m_theme.quiet, 1.8), Qt::NoBrush, std::max(d, 5.0) * 1.5);
        case Mark::SquareWithBar: return QCPScatterStyle(squareWithBar(), QPen(Qt::NoPen), m_theme.stop, big);
        case Mark::Up: return QCPScatterStyle(triangleOut(1), QPen(Qt::NoPen), m_theme.stop, big);
        case Mark::Down: return QCPScatterStyle(triangleOut(-1), QPen(Qt::NoPen), m_theme.stop, big);
        }
        return {};
    }

    void addLine(QPointF from, QPointF to, const QPen& pen, const QString& layer = QStringLiteral("grid"))
    {
        auto* line = new QCPItemLine(&m_plot); // the plot owns its items
        line->setClipToAxisRect(false);
        line->start->setType(QCPItemPosition::ptAbsolute);
        line->end->setType(QCPItemPosition::ptAbsolute);
        line->start->setCoords(from);
        line->end->setCoords(to);
        line->setPen(pen);
        line->setSelectable(false);
        line->setLayer(layer);
    }

    /// Words over the runs get a ground, as large as the place they were given and no larger.
    void addGround(const QRectF& rect)
    {
        auto* ground = new QCPItemRect(&m_plot);
        ground->setClipToAxisRect(false);
        ground->topLeft->setType(QCPItemPosition::ptAbsolute);
        ground->bottomRight->setType(QCPItemPosition::ptAbsolute);
        ground->topLeft->setCoords(rect.topLeft() + QPointF(0, 1));
        ground->bottomRight->setCoords(rect.bottomRight() - QPointF(0, 1));
        ground->setPen(QPen(Qt::NoPen));
        ground->setBrush(m_theme.surface);
        ground->setSelectable(false);
        ground->setLayer(QStringLiteral("axes"));
    }

    void addText(const PlacedText& placed)
    {
        if (placed.role == TextRole::Rule || placed.role == TextRole::RuleMark || placed.role == TextRole::RunLabel
            || placed.role == TextRole::RunNote)
            addGround(placed.rect);
        auto* text = new QCPItemText(&m_plot);
        text->setClipToAxisRect(false);
        text->position->setType(QCPItemPosition::ptAbsolute);
        text->position->setCoords(placed.rect.left(), placed.rect.center().y());
        text->setPositionAlignment(Qt::AlignLeft | Qt::AlignVCenter);
        text->setText(placed.text);
        text->setFont(fontOf(placed.role, m_theme));
        text->setColor(colourOf(placed));
        text->setSelectable(false);
        text->setLayer(QStringLiteral("axes"));
    }

    QColor colourOf(const PlacedText& placed) const
    {
        if (placed.stop)
            return m_theme.stop;
        const bool quiet = placed.role == TextRole::EdgeSd || placed.role == TextRole::RunNote || placed.role == TextRole::RuleMark;
        return quiet ? m_theme.quiet : m_theme.ink;
    }

    QCustomPlot& m_plot;
    const ControlChartScene& m_scene;
    const ChartLayout& m_layout;
    const ChartTheme& m_theme;
};

const char* const kRingName = "selected set";

} // namespace

void drawControlChart(QCustomPlot& plot, const ControlChartScene& scene, const ChartLayout& layout, const ChartTheme& theme)
{
    PlotFiller(plot, scene, layout, theme).run();
}

void ringSet(
    QCustomPlot& plot, const ControlChartScene& scene, const ChartLayout& layout, const ChartTheme& theme, std::optional<std::size_t> set)
{
    const QString name = QString::fromLatin1(kRingName);
    for (int i = plot.itemCount() - 1; i >= 0; --i)
        if (plot.item(i)->objectName() == name)
            plot.removeItem(i);
    if (!set)
        return;
    const double radius = theme.font.pixelSize() * 8.0 / 14.0;
    for (std::size_t p = 0; p < scene.panels.size(); ++p)
        for (std::size_t i = 0; i < scene.panels[p].points.size(); ++i) {
            if (scene.panels[p].points[i].set != *set)
                continue;
            const QPointF at = layout.panels[p].points[i];
            auto* ring = new QCPItemEllipse(&plot);
            ring->setObjectName(name);
            ring->setClipToAxisRect(false);
            ring->topLeft->setType(QCPItemPosition::ptAbsolute);
            ring->bottomRight->setType(QCPItemPosition::ptAbsolute);
            ring->topLeft->setCoords(at - QPointF(radius, radius));
            ring->bottomRight->setCoords(at + QPointF(radius, radius));
            ring->setPen(QPen(theme.action, 2));
            ring->setSelectable(false);
            ring->setLayer(QStringLiteral("overlay"));
        }
}

} // namespace mk::report
