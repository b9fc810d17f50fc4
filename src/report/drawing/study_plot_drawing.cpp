// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/study_plot_drawing.h"

#include "report/drawing/chart_file.h"
#include "report/drawing/chart_marks.h"

#include <qcustomplot.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <unordered_set>

namespace mk::report {

namespace {

constexpr double kLabelGap = 6;
constexpr double kLegendColumn = 260;
constexpr double kLegendSample = 34;

QString panelText(const std::string& text)
{
    return QString::fromStdString(text);
}

/// What a legend names: a shape or a stroke.
struct LegendEntry {
    QString text;
    std::optional<PlotShape> shape;
    PlotStroke stroke = PlotStroke::Solid;
};

std::vector<LegendEntry> legendOf(const PlotPanel& panel)
{
    std::vector<LegendEntry> entries;
    for (const PlotPoints& points : panel.points) {
        if (!points.legend.empty())
            entries.push_back({ panelText(points.legend), points.shape, PlotStroke::Solid });
    }
    for (const PlotCurve& curve : panel.curves) {
        if (!curve.legend.empty())
            entries.push_back({ panelText(curve.legend), std::nullopt, curve.stroke });
    }
    return entries;
}

/// Free space around the axes of a panel.
struct PanelMargins {
    double left = 0, right = 0, top = 0, bottom = 0;
};

double widestLimitLabel(const PlotPanel& panel, const ChartTheme& theme)
{
    double widest = 0;
    for (const PlotLimit& limit : panel.limits) {
        if (limit.way == PlotLimit::Way::Horizontal)
            widest = std::max(widest, QFontMetricsF(theme.small()).horizontalAdvance(panelText(limit.label)));
    }
    return widest;
}

PanelMargins marginsOf(const PlotPanel& panel, const ChartTheme& theme)
{
    const QFontMetricsF body(theme.font);
    const QFontMetricsF small(theme.small());
    const double label = widestLimitLabel(panel, theme);
    const bool above = std::ranges::any_of(
        panel.limits, [](const PlotLimit& limit) { return limit.way == PlotLimit::Way::Vertical && !limit.label.empty(); });
    return { 2 * body.height() + small.horizontalAdvance(QStringLiteral("0.00000")), label > 0 ? label + 2 * kLabelGap : 16,
        (panel.title.empty() ? small.height() / 2 + 3 : body.height() + 6) + (above ? small.height() + 4 : 0),
        small.height() + 10 + (panel.x.title.empty() ? 0 : body.height() + 4) };
}

QPen penOf(PlotStroke stroke, const ChartTheme& theme)
{
    switch (stroke) {
    case PlotStroke::Strong: return QPen(theme.ink, 2);
    case PlotStroke::Dashed: return QPen(theme.ink, 1, Qt::DashLine);
    case PlotStroke::Dotted: return QPen(theme.ink, 1, Qt::DotLine);
    case PlotStroke::Faint: return QPen(theme.quiet, 0.75);
    default: return QPen(theme.ink, 1.25);
    }
}

constexpr int kManyPoints = 2000; ///< from there on points are small, grey, and below every line

QCPScatterStyle styleOf(PlotShape shape, const ChartTheme& theme, bool many)
{
    if (many)
        return QCPScatterStyle(QCPScatterStyle::ssDisc, theme.hairline, theme.hairline, 2.5);
    const double size = 6;
    switch (shape) {
    case PlotShape::Ring: return QCPScatterStyle(QCPScatterStyle::ssCircle, theme.ink, theme.paper, size + 1);
    case PlotShape::SquareWithBar: return QCPScatterStyle(squareWithBar(), QPen(Qt::NoPen), theme.ink, 8);
    case PlotShape::Diamond: return QCPScatterStyle(QCPScatterStyle::ssDiamond, theme.ink, theme.paper, size + 3);
    case PlotShape::Triangle: return QCPScatterStyle(QCPScatterStyle::ssTriangle, theme.ink, theme.paper, size + 2);
    case PlotShape::Cross: return QCPScatterStyle(QCPScatterStyle::ssCross, theme.ink, size + 1);
    default: return QCPScatterStyle(QCPScatterStyle::ssDisc, theme.ink, theme.ink, size - 1);
    }
}

/// The smallest and largest finite value seen; none yet while lower > upper. (QCPRange would swap them.)
struct Extent {
    double lower = std::numeric_limits<double>::max();
    double upper = std::numeric_limits<double>::lowest();

    void take(double value)
    {
        if (!std::isfinite(value))
            return;
        lower = std::min(lower, value);
        upper = std::max(upper, value);
    }
};

QCPRange padded(const Extent& extent, const PlotAxis& axis)
{
    QCPRange range = extent.lower <= extent.upper ? QCPRange(extent.lower, extent.upper) : QCPRange(axis.logarithmic ? 1 : 0, 10);
    if (axis.logarithmic) {
        range.lower = std::pow(10, std::floor(std::log10(std::max(range.lower, 1e-12))));
        range.upper = std::pow(10, std::ceil(std::log10(std::max(range.upper, range.lower * 1.01))));
    } else {
        const double pad = range.upper > range.lower ? 0.05 * (range.upper - range.lower) : std::max(1.0, std::abs(range.lower) * 0.05);
        range = QCPRange(range.lower - pad, range.upper + pad);
    }
    return QCPRange(axis.lower.value_or(range.lower), axis.upper.value_or(range.upper));
}

QCPRange rangeAlong(const PlotPanel& panel, bool horizontal)
{
    Extent extent;
    for (const PlotPoints& points : panel.points)
        std::ranges::for_each(horizontal ? points.x : points.y, [&](double value) { extent.take(value); });
    for (const PlotCurve& curve : panel.curves)
        std::ranges::for_each(horizontal ? curve.x : curve.y, [&](double value) { extent.take(value); });
    for (const PlotLimit& limit : panel.limits) {
        if ((limit.way == PlotLimit::Way::Vertical) == horizontal)
            extent.take(limit.at);
    }
    return padded(extent, horizontal ? panel.x : panel.y);
}

/// Points that would hide each other are drawn once: a long series makes the same picture and no huge file.
QVector<QCPGraphData> drawnOnce(const PlotPoints& points, const QCPRange& x, const QCPRange& y, const QSizeF& size)
{
    QVector<QCPGraphData> drawn;
    std::unordered_set<std::int64_t> taken;
    const std::size_t count = std::min(points.x.size(), points.y.size());
    const double cell = count <= 50'000 ? 0.5 : 2; // pixels
    for (std::size_t i = 0; i < count; ++i) {
        if (!std::isfinite(points.x[i]) || !std::isfinite(points.y[i]))
            continue;
        const auto column = static_cast<std::int64_t>((points.x[i] - x.lower) / x.size() * size.width() / cell);
        const auto row = static_cast<std::int64_t>((points.y[i] - y.lower) / y.size() * size.height() / cell);
        if (count <= kManyPoints || taken.insert(column * 100'003 + row).second)
            drawn.append({ points.x[i], points.y[i] });
    }
    return drawn;
}

/// Moves places along one direction apart to at least `gap`, keeping their order and staying close to where they want to be.
void spread(std::vector<double*> places, double gap, double last)
{
    std::ranges::sort(places, {}, [](const double* place) { return *place; });
    for (std::size_t i = 1; i < places.size(); ++i)
        *places[i] = std::max(*places[i], *places[i - 1] + gap);
    double most = last;
    for (std::size_t i = places.size(); i-- > 0; most = *places[i] - gap)
        *places[i] = std::min(*places[i], most);
}

class PanelPainter {
public:
    PanelPainter(const PlotPanel& panel, const ChartTheme& theme, QPainter& painter, const QRectF& into)
        : m_panel(panel),
          m_theme(theme),
          m_painter(painter),
          m_into(into),
          m_margins(marginsOf(panel, theme)),
          m_axes(
              into.adjusted(m_margins.left, m_margins.top, -m_margins.right, -m_margins.bottom - legendHeight(panel, theme, into.width()))),
          m_x(rangeAlong(panel, true)),
          m_y(rangeAlong(panel, false))
    {
        if (panel.sameScale)
            equalize();
    }

    void paint()
    {
        QCustomPlot plot;
        const QRect all(QPoint(), m_into.size().toSize());
        plot.setGeometry(all);
        plot.setViewport(all);
        fill(plot);
        paintVectors(plot, m_painter, m_into);
        paintHeading();
        paintLimitLabels();
        paintNotes();
        paintLegend();
    }

private:
    /// Widens the shorter range so that a unit is as long on both axes; bounds that were asked for on both axes stay.
    void equalize()
    {
        const double perX = m_x.size() / m_axes.width();
        const double perY = m_y.size() / m_axes.height();
        if (perX < perY)
            m_x = QCPRange(m_x.center() - perY * m_axes.width() / 2, m_x.center() + perY * m_axes.width() / 2);
        else
            m_y = QCPRange(m_y.center() - perX * m_axes.height() / 2, m_y.center() + perX * m_axes.height() / 2);
    }

    double pixelX(double x) const { return m_axes.left() + along(x, m_x, m_panel.x) * m_axes.width(); }
    double pixelY(double y) const { return m_axes.bottom() - along(y, m_y, m_panel.y) * m_axes.height(); }
    static double along(double value, const QCPRange& range, const PlotAxis& axis)
    {
        return axis.logarithmic ? std::log(value / range.lower) / std::log(range.upper / range.lower)
                                : (value - range.lower) / range.size();
    }

    void fill(QCustomPlot& plot)
    {
        plot.setBackground(Qt::NoBrush);
        plot.setAntialiasedElements(QCP::aeAll);
        QCPAxisRect& rect = *plot.axisRect();
        plot.plotLayout()->setMargins(QMargins());
        plot.plotLayout()->setAutoMargins(QCP::msNone);
        rect.setAutoMargins(QCP::msNone);
        rect.setMargins(QMargins(static_cast<int>(m_axes.left() - m_into.left()), static_cast<int>(m_axes.top() - m_into.top()),
            static_cast<int>(m_into.right() - m_axes.right()), static_cast<int>(m_into.bottom() - m_axes.bottom())));
        styleAxis(*plot.xAxis, m_panel.x, m_x);
        styleAxis(*plot.yAxis, m_panel.y, m_y);
        addAllPoints(plot, true);
        for (const PlotLimit& limit : m_panel.limits)
            addLimit(plot, limit);
        for (const PlotCurve& curve : m_panel.curves)
            addCurve(plot, curve);
        addAllPoints(plot, false);
    }

    void addAllPoints(QCustomPlot& plot, bool many)
    {
        for (const PlotPoints& points : m_panel.points) {
            if ((points.x.size() > kManyPoints) == many)
                addPoints(plot, points, many);
        }
    }

    void styleAxis(QCPAxis& axis, const PlotAxis& wanted, const QCPRange& range)
    {
        if (wanted.logarithmic) {
            axis.setScaleType(QCPAxis::stLogarithmic);
            axis.setTicker(QSharedPointer<QCPAxisTickerLog>::create());
            axis.setNumberFormat(QStringLiteral("gbd"));
            axis.setNumberPrecision(4);
        } else if (!wanted.names.empty()) {
            auto ticker = QSharedPointer<QCPAxisTickerText>::create();
            for (std::size_t i = 0; i < wanted.names.size(); ++i)
                ticker->addTick(static_cast<double>(i + 1), panelText(wanted.names[i]));
            axis.setTicker(ticker);
        } else {
            if (wanted.wholeNumbers) {
                auto ticker = QSharedPointer<QCPAxisTickerFixed>::create();
                ticker->setTickStep(1);
                ticker->setScaleStrategy(QCPAxisTickerFixed::ssMultiples);
                axis.setTicker(ticker);
            }
            axis.setNumberFormat(QStringLiteral("g"));
            axis.setNumberPrecision(7);
        }
        axis.setRange(range);
        axis.setLabel(panelText(wanted.title));
        axis.setLabelFont(m_theme.font);
        axis.setTickLabelFont(m_theme.small());
        axis.setLabelColor(m_theme.ink);
        axis.setTickLabelColor(m_theme.ink);
        axis.setBasePen(QPen(m_theme.ink, 1));
        axis.setTickPen(QPen(m_theme.ink, 1));
        axis.setSubTickPen(Qt::NoPen);
        axis.grid()->setPen(QPen(m_theme.hairline, 0.5, Qt::DotLine));
        axis.grid()->setZeroLinePen(QPen(m_theme.hairline, 0.5, Qt::DotLine));
    }

    void addLimit(QCustomPlot& plot, const PlotLimit& limit)
    {
        auto* line = new QCPItemStraightLine(&plot); // the plot owns it
        line->setPen(penOf(limit.stroke, m_theme));
        line->setLayer(QStringLiteral("main")); // above the points that were added before it, below those after
        const bool flat = limit.way == PlotLimit::Way::Horizontal;
        line->point1->setCoords(flat ? m_x.lower : limit.at, flat ? limit.at : m_y.lower);
        line->point2->setCoords(flat ? m_x.upper : limit.at, flat ? limit.at : m_y.upper);
    }

    void addCurve(QCustomPlot& plot, const PlotCurve& curve)
    {
        const auto x = QVector<double>(curve.x.begin(), curve.x.end());
        const auto y = QVector<double>(curve.y.begin(), curve.y.end());
        if (std::ranges::is_sorted(curve.x)) {
            QCPGraph* graph = plot.addGraph();
            graph->setData(x, y, true);
            graph->setAdaptiveSampling(true);
            graph->setPen(penOf(curve.stroke, m_theme));
        } else {
            auto* line = new QCPCurve(plot.xAxis, plot.yAxis); // the plot owns it
            line->setData(x, y);
            line->setPen(penOf(curve.stroke, m_theme));
        }
    }

    void addPoints(QCustomPlot& plot, const PlotPoints& points, bool many)
    {
        QCPGraph* graph = plot.addGraph();
        auto data = drawnOnce(points, m_x, m_y, m_axes.size());
        graph->data()->set(data, false);
        graph->setLineStyle(QCPGraph::lsNone);
        graph->setPen(Qt::NoPen); // what a style leaves open would be drawn with it
        graph->setAdaptiveSampling(false);
        graph->setScatterStyle(styleOf(points.shape, m_theme, many));
    }

    void paintHeading()
    {
        m_painter.setPen(m_theme.ink);
        m_painter.setFont(m_theme.strong());
        const double width = m_into.right() - m_axes.left();
        m_painter.drawText(QRectF(m_axes.left(), m_into.top(), width, QFontMetricsF(m_theme.strong()).height() + 4),
            Qt::AlignLeft | Qt::AlignTop, QFontMetricsF(m_theme.strong()).elidedText(panelText(m_panel.title), Qt::ElideMiddle, width));
    }

    void paintLimitLabels()
    {
        m_painter.setFont(m_theme.small());
        const double line = QFontMetricsF(m_theme.small()).height();
        std::vector<double> y(m_panel.limits.size());
        std::vector<double*> places;
        for (std::size_t i = 0; i < y.size(); ++i) {
            y[i] = pixelY(m_panel.limits[i].at);
            if (m_panel.limits[i].way == PlotLimit::Way::Horizontal && !m_panel.limits[i].label.empty())
                places.push_back(&y[i]);
        }
        spread(places, line, m_axes.bottom());
        for (std::size_t i = 0; i < y.size(); ++i)
            paintLimitLabel(m_panel.limits[i], y[i], line);
    }

    void paintLimitLabel(const PlotLimit& limit, double y, double line)
    {
        if (limit.label.empty())
            return;
        if (limit.way == PlotLimit::Way::Horizontal) {
            m_painter.drawText(QRectF(m_axes.right() + kLabelGap, y - line / 2, m_margins.right, line), Qt::AlignLeft | Qt::AlignVCenter,
                panelText(limit.label));
            return;
        }
        const double width = QFontMetricsF(m_theme.small()).horizontalAdvance(panelText(limit.label)) + 2;
        const double x = std::clamp(pixelX(limit.at) - width / 2, m_axes.left(), std::max(m_axes.left(), m_into.right() - width));
        m_painter.drawText(QRectF(x, m_axes.top() - line - 2, width, line), Qt::AlignHCenter, panelText(limit.label));
    }

    void paintNotes()
    {
        m_painter.setFont(m_theme.strong());
        const double line = QFontMetricsF(m_theme.strong()).height();
        for (const PlotNote& note : m_panel.notes) {
            const double width = QFontMetricsF(m_theme.strong()).horizontalAdvance(panelText(note.text)) + 6;
            const QRectF place(pixelX(note.x) - width / 2, pixelY(note.y) - line / 2, width, line);
            m_painter.fillRect(place, m_theme.paper);
            m_painter.drawText(place, Qt::AlignCenter, panelText(note.text));
        }
    }

    void paintLegend()
    {
        const auto entries = legendOf(m_panel);
        const double line = QFontMetricsF(m_theme.small()).height() + 2;
        const int columns = std::max(1, static_cast<int>((m_into.right() - m_axes.left()) / kLegendColumn));
        double y = m_into.bottom() - legendHeight(m_panel, m_theme, m_into.width()) + 4;
        m_painter.setFont(m_theme.small());
        for (std::size_t i = 0; i < entries.size(); ++i) {
            const int column = static_cast<int>(i) % columns;
            const double x = m_axes.left() + column * kLegendColumn;
            paintSample(entries[i], QPointF(x, y + line / 2));
            m_painter.setPen(m_theme.ink);
            m_painter.drawText(
                QRectF(x + kLegendSample, y, kLegendColumn - kLegendSample, line), Qt::AlignLeft | Qt::AlignVCenter, entries[i].text);
            if (column == columns - 1)
                y += line;
        }
    }

    void paintSample(const LegendEntry& entry, const QPointF& at)
    {
        m_painter.setBrush(Qt::NoBrush);
        if (!entry.shape) {
            m_painter.setPen(penOf(entry.stroke, m_theme));
            m_painter.drawLine(at, at + QPointF(kLegendSample - 8, 0));
            return;
        }
        QPicture mark;
        {
            QCPPainter shape(&mark);
            const auto style = styleOf(*entry.shape, m_theme, false);
            style.applyTo(&shape, m_theme.ink);
            style.drawShape(&shape, QPointF(0, 0));
        }
        m_painter.drawPicture(at + QPointF(kLegendSample / 2 - 4, 0), mark);
    }

    const PlotPanel& m_panel;
    const ChartTheme& m_theme;
    QPainter& m_painter;
    QRectF m_into;
    PanelMargins m_margins;
    QRectF m_axes;
    QCPRange m_x, m_y;
};

} // namespace

double legendHeight(const PlotPanel& panel, const ChartTheme& theme, double width)
{
    const auto entries = static_cast<int>(legendOf(panel).size());
    const int columns = std::max(1, static_cast<int>((width - marginsOf(panel, theme).left) / kLegendColumn));
    return entries == 0 ? 0 : 6 + (entries + columns - 1) / columns * (QFontMetricsF(theme.small()).height() + 2);
}

double squarePanelHeight(const PlotPanel& panel, const ChartTheme& theme, double width)
{
    const PanelMargins margins = marginsOf(panel, theme);
    return width - margins.left - margins.right + margins.top + margins.bottom;
}

void paintPlotPanel(const PlotPanel& panel, const ChartTheme& theme, QPainter& painter, const QRectF& into)
{
    PanelPainter(panel, theme, painter, into).paint();
}

} // namespace mk::report
