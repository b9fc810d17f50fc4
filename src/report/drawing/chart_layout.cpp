// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/chart_layout.h"

#include "report/scenes/chart_axis.h"
#include "words/charts.h"

#include <QFontMetricsF>

#include <algorithm>
#include <cmath>

namespace mk::report {

namespace {

constexpr int kMostTicks = 5;

QString shown(const std::string& text)
{
    return QString::fromStdString(text);
}

/// How the lines of an axis are written at its right edge.
struct EdgeTexts {
    QString mean, usual, lowRange, highRange;
};

EdgeTexts edgeTextsOf(const LevelPanel& panel)
{
    EdgeTexts texts;
    if (!panel.usual.empty())
        texts.usual = words::usualLine(panel.usual.back().usual);
    if (panel.targets.empty())
        return texts;
    const TargetSegment& last = panel.targets.back();
    if (last.mean)
        texts.mean = words::meanLine(last.meanText);
    if (last.low)
        texts.lowRange = words::rangeLine(last.lowText);
    if (last.high)
        texts.highRange = words::rangeLine(last.highText);
    return texts;
}

class ChartPlacer {
public:
    ChartPlacer(const ControlChartScene& scene, const ChartTheme& theme, QSizeF size)
        : m_scene(scene),
          m_theme(theme),
          m_size(size),
          m_body(theme.font),
          m_small(theme.small()),
          m_strong(theme.strong()),
          m_u(theme.font.pixelSize() / 2.0)
    {
    }

    ChartLayout run()
    {
        placePanels();
        placeTitle();
        placeEvents();
        for (std::size_t i = 0; i < m_scene.panels.size(); ++i) {
            placePoints(i);
            placeEdge(i);
        }
        for (std::size_t i = 0; i < m_scene.panels.size(); ++i)
            placeRuleNames(i);
        for (const bool rejected : { true, false })
            for (std::size_t i = 0; i < m_scene.panels.size(); ++i)
                placeRunLabels(i, rejected);
        m_layout.dayTicks = dayTicks(m_scene.from, m_scene.to, ticksThatFit());
        return std::move(m_layout);
    }

private:
    double width(const QString& text, TextRole role) const
    {
        return std::ceil(QFontMetricsF(fontOf(role, m_theme)).horizontalAdvance(text)) + 2;
    }
    double lineHeight() const { return std::ceil(m_body.height()); }
    /// A word beside a run, without the leading above and below it.
    double labelHeight() const { return std::ceil(m_body.height() * 0.8); }

    void placePanels()
    {
        double left = 0;
        double meanWidth = 0;
        double rangeWidth = 0;
        std::vector<std::vector<double>> ticks;
        for (const auto& panel : m_scene.panels) {
            ticks.push_back(roundTicks(panel.lower, panel.upper, kMostTicks));
            for (const double tick : ticks.back())
                left = std::max(left, m_small.horizontalAdvance(QString::number(tick)));
            const EdgeTexts edge = edgeTextsOf(panel);
            meanWidth = std::max({ meanWidth, width(edge.mean, TextRole::EdgeMean), width(edge.usual, TextRole::EdgeUsual),
                width(QStringLiteral("+3 SD"), TextRole::EdgeSd) });
            rangeWidth = std::max({ rangeWidth, width(edge.lowRange, TextRole::EdgeRange), width(edge.highRange, TextRole::EdgeRange) });
        }
        m_edgeMean = m_size.width() - m_theme.inset - rangeWidth - m_u - meanWidth;
        m_edgeRange = m_size.width() - m_theme.inset - rangeWidth;
        m_left = std::floor(m_theme.inset + left + 2.5 * m_u);
        m_right = std::floor(m_edgeMean - m_u);

        const double count = static_cast<double>(std::max<std::size_t>(1, m_scene.panels.size()));
        double top = m_theme.inset + (m_scene.title.empty() ? 0 : lineHeight() + 2 * m_u) + lineHeight() + m_u / 2;
        const double bottom = m_size.height() - m_theme.inset - lineHeight() - m_u;
        const double gap = lineHeight() + m_u;
        const double height = std::max(0.0, std::floor((bottom - top - gap * (count - 1)) / count));
        for (auto& each : ticks) {
            m_layout.panels.push_back({ QRectF(m_left, std::floor(top), std::max(0.0, m_right - m_left), height), {}, std::move(each) });
            top += height + gap;
        }
        // The edge columns are strips that words over the runs must leave alone.
        m_layout.eventTop = m_layout.panels.empty() ? 0 : m_layout.panels.front().plot.top() - lineHeight() - m_u / 2;
    }

    double xOf(double seconds) const { return m_left + (seconds - m_scene.from) / (m_scene.to - m_scene.from) * (m_right - m_left); }
    double yOf(std::size_t panel, double value) const
    {
        const QRectF& plot = m_layout.panels[panel].plot;
        const LevelPanel& scene = m_scene.panels[panel];
        return plot.bottom() - (value - scene.lower) / (scene.upper - scene.lower) * plot.height();
    }

    bool isFree(const QRectF& rect) const
    {
        return std::ranges::none_of(m_taken, [&](const QRectF& other) { return other.intersects(rect); })
            && std::ranges::none_of(m_layout.texts, [&](const PlacedText& other) { return other.rect.intersects(rect); });
    }
    void put(const QString& text, QRectF rect, TextRole role, bool stop = false) { m_layout.texts.push_back({ text, rect, role, stop }); }
    bool putFirstFree(const QString& text, std::initializer_list<QPointF> corners, TextRole role, bool stop, const QRectF& within)
    {
        const double wide = width(text, role);
        for (const QPointF corner : corners) {
            const QRectF rect(corner, QSizeF(wide, labelHeight()));
            if (!within.contains(rect) || !isFree(rect))
                continue;
            put(text, rect, role, stop);
            return true;
        }
        return false;
    }

    void placeTitle()
    {
        if (!m_scene.title.empty()) {
            const QString title = QFontMetricsF(m_strong).elidedText(
                shown(m_scene.title), Qt::ElideRight, m_size.width() - 2 * m_theme.inset);
            put(title, QRectF(m_theme.inset, m_theme.inset, width(title, TextRole::Title), lineHeight()), TextRole::Title);
        }
        for (std::size_t i = 0; i < m_scene.panels.size(); ++i) {
            const QString name = shown(m_scene.panels[i].title);
            const double top = m_layout.panels[i].plot.top() - lineHeight() - m_u / 2;
            put(name, QRectF(m_theme.inset + (m_theme.inset > 0 ? 0 : m_u), top, width(name, TextRole::LevelName), lineHeight()),
                TextRole::LevelName);
        }
    }

    void placeEvents()
    {
        for (const auto& event : m_scene.events)
            m_layout.eventX.push_back(std::round(xOf(event.x)));
        const auto& xs = m_layout.eventX;
        for (std::size_t i = 0; i < xs.size(); ++i) {
            const QString text = shown(m_scene.events[i].word);
            const double wide = width(text, TextRole::Event);
            const double gap = m_u * 0.6;
            const double next = i + 1 < xs.size() ? xs[i + 1] - 1 : m_size.width() - m_theme.inset;
            const double before = i > 0 ? xs[i - 1] + 1 : m_left;
            const QRectF right(xs[i] + gap, m_layout.eventTop, wide, lineHeight());
            const QRectF left(xs[i] - gap - wide, m_layout.eventTop, wide, lineHeight());
            if (right.right() <= next && isFree(right))
                put(text, right, TextRole::Event);
            else if (left.left() >= before && isFree(left))
                put(text, left, TextRole::Event);
        }
    }

    void placePoints(std::size_t at)
    {
        PlacedPanel& placed = m_layout.panels[at];
        const LevelPanel& panel = m_scene.panels[at];
        std::vector<double> xs;
        for (const auto& point : panel.points)
            xs.push_back(xOf(point.x));
        m_layout.pointRadius = std::min(m_layout.pointRadius, radiusFor(xs));
        for (std::size_t i = 0; i < panel.points.size(); ++i) {
            const ScenePoint& point = panel.points[i];
            double y = 0;
            if (point.place == RunPlace::AtValue)
                y = yOf(at, *point.value);
            else
                y = point.place == RunPlace::UpperFrame ? placed.plot.top() + m_u * 0.6 : placed.plot.bottom() - m_u * 0.6;
            placed.points.push_back({ xs[i], y });
            const double half = m_layout.pointRadius * 1.3 + 1.5;
            m_taken.push_back(QRectF(xs[i] - half, y - half, 2 * half, 2 * half));
        }
    }

    /// Points grow thinner before they would touch.
    double radiusFor(const std::vector<double>& xs) const
    {
        const double full = m_u * 0.45;
        if (xs.size() < 2)
            return full;
        const double spacing = (xs.back() - xs.front()) / static_cast<double>(xs.size() - 1);
        return std::clamp(spacing * 0.42, 1.2, full);
    }

    void placeEdge(std::size_t at)
    {
        const LevelPanel& panel = m_scene.panels[at];
        if (panel.targets.empty())
            return;
        const TargetSegment& last = panel.targets.back();
        const EdgeTexts texts = edgeTextsOf(panel);
        const double tall = std::ceil(m_small.height());
        const auto edge = [&](const QString& text, double value, double x, TextRole role) {
            const QRectF rect(x, yOf(at, value) - tall / 2, width(text, role), tall);
            if (!text.isEmpty() && isFree(rect))
                put(text, rect, role);
        };
        if (last.mean)
            edge(texts.mean, *last.mean, m_edgeMean, TextRole::EdgeMean);
        if (!panel.usual.empty())
            placeUsual(at, texts.usual, tall);
        if (last.mean) {
            const double sdPixels = *last.sd / (panel.upper - panel.lower) * m_layout.panels[at].plot.height();
            for (const int k : { 3, 2, 1 }) {
                if (k < 3 && sdPixels < tall)
                    continue;
                edge(QStringLiteral("+%1 SD").arg(k), *last.mean + k * *last.sd, m_edgeMean, TextRole::EdgeSd);
                edge(QStringLiteral("\u2212%1 SD").arg(k), *last.mean - k * *last.sd, m_edgeMean, TextRole::EdgeSd);
            }
        }
        if (last.high)
            edge(texts.highRange, *last.high, m_edgeRange, TextRole::EdgeRange);
        if (last.low)
            edge(texts.lowRange, *last.low, m_edgeRange, TextRole::EdgeRange);
    }

    /// Beside the end of its line; a little above or below where the mean's word stands there.
    void placeUsual(std::size_t at, const QString& text, double tall)
    {
        const LevelPanel& panel = m_scene.panels[at];
        const double wide = width(text, TextRole::EdgeUsual);
        const double y = yOf(at, std::clamp(panel.usual.back().usual, panel.lower, panel.upper));
        const double middle = panel.targets.back().mean ? yOf(at, *panel.targets.back().mean) : y;
        const double away = y <= middle ? -1 : 1;
        for (const double top : { y - tall / 2, middle + away * tall - tall / 2 })
            if (const QRectF rect(m_edgeMean, top, wide, tall); isFree(rect)) {
                put(text, rect, TextRole::EdgeUsual);
                return;
            }
    }

    /// Left above the point that completed it; else wherever there is room near it.
    void placeRuleNames(std::size_t at)
    {
        const LevelPanel& panel = m_scene.panels[at];
        for (const auto& line : panel.ruleLines) {
            const QPointF point = m_layout.panels[at].points[line.completedBy];
            const QString text = shown(line.rule);
            const TextRole role = line.mark ? TextRole::RuleMark : TextRole::Rule;
            const double wide = width(text, role);
            const double tall = labelHeight();
            const double near = m_layout.pointRadius + 2;
            const double far = near + tall;
            putFirstFree(text,
                { { point.x() - wide, point.y() - near - tall }, { point.x() - wide / 2, point.y() - near - tall },
                    { point.x() - wide, point.y() - far - tall }, { point.x() - wide, point.y() + near },
                    { point.x() - wide / 2, point.y() + near }, { point.x() - wide, point.y() + far },
                    { point.x() - 2 * wide, point.y() - far - tall } },
                role, panel.points[line.completedBy].rejected, reachOf(at));
        }
    }

    /// Where words beside the runs may stand: the panel, and the row over it.
    QRectF reachOf(std::size_t at) const { return m_layout.panels[at].plot.adjusted(0, -lineHeight() / 2, 0, 0); }

    void placeRunLabels(std::size_t at, bool rejected)
    {
        const LevelPanel& panel = m_scene.panels[at];
        for (std::size_t i = 0; i < panel.points.size(); ++i) {
            const ScenePoint& scenePoint = panel.points[i];
            if (scenePoint.label.empty() || scenePoint.rejected != rejected)
                continue;
            const QPointF point = m_layout.panels[at].points[i];
            const QString text = shown(scenePoint.label);
            const QString shorter = shown(scenePoint.shortLabel);
            const TextRole role = shorter.isEmpty() ? TextRole::RunLabel : TextRole::RunNote;
            if (!placeBeside(at, point, text, role, rejected) && !shorter.isEmpty())
                placeBeside(at, point, shorter, role, rejected);
        }
    }

    bool placeBeside(std::size_t at, QPointF point, const QString& text, TextRole role, bool stop)
    {
        const double wide = width(text, role);
        const double tall = labelHeight();
        const double near = std::max(m_u * 1.25, 8.5);
        return putFirstFree(text,
            { { point.x() + near, point.y() - tall / 2 }, { point.x() - near - wide, point.y() - tall / 2 },
                { point.x() - wide / 2, point.y() - near - tall }, { point.x() - wide / 2, point.y() + near },
                { point.x() + near / 2, point.y() - near / 2 - tall }, { point.x() + near / 2, point.y() + near / 2 } },
            role, stop, reachOf(at));
    }

    int ticksThatFit() const
    {
        const double each = m_small.horizontalAdvance(QStringLiteral("30 Nov")) + 2 * m_u;
        return std::clamp(static_cast<int>((m_right - m_left) / each), 1, 7);
    }

    const ControlChartScene& m_scene;
    const ChartTheme& m_theme;
    QSizeF m_size;
    QFontMetricsF m_body, m_small, m_strong;
    double m_u;
    double m_left = 0, m_right = 0, m_edgeMean = 0, m_edgeRange = 0;
    std::vector<QRectF> m_taken;
    ChartLayout m_layout;
};

} // namespace

QFont fontOf(TextRole role, const ChartTheme& theme)
{
    switch (role) {
    case TextRole::Title:
    case TextRole::LevelName:
    case TextRole::Rule:
    case TextRole::RunLabel: return theme.strong();
    default: return theme.small();
    }
}

ChartLayout layOut(const ControlChartScene& scene, const ChartTheme& theme, QSizeF size)
{
    return ChartPlacer(scene, theme, size).run();
}

} // namespace mk::report
