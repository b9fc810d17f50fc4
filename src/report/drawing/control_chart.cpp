// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/control_chart.h"

#include "report/drawing/chart_file.h"
#include "report/drawing/control_chart_drawing.h"
#include "words/charts.h"

#include <qcustomplot.h>

#include <QKeyEvent>
#include <QTextDocument>
#include <QToolTip>

#include <cmath>

namespace mk::report {

namespace {

constexpr double kReach = 12; ///< pixels around a run that belong to it

double distance(const QPointF& a, const QPointF& b)
{
    return std::hypot(a.x() - b.x(), a.y() - b.y());
}

} // namespace

ControlChart::ControlChart(QWidget* parent) : QWidget(parent), m_plot(new QCustomPlot(this))
{
    m_theme = paperTheme(14);
    m_plot->setFocusPolicy(Qt::NoFocus);
    m_plot->setMouseTracking(true);
    m_plot->installEventFilter(this);
    setFocusPolicy(Qt::StrongFocus);
}

ControlChart::~ControlChart() = default;

QSize ControlChart::sizeHint() const
{
    return QSize(m_theme.font.pixelSize() * 63, m_theme.font.pixelSize() * 27);
}

QSize ControlChart::minimumSizeHint() const
{
    return QSize(m_theme.font.pixelSize() * 36, m_theme.font.pixelSize() * 22);
}

void ControlChart::setScene(ControlChartScene scene, ChartTheme theme)
{
    m_scene = std::move(scene);
    m_theme = std::move(theme);
    m_selected.reset();
    rebuild();
    describe();
}

void ControlChart::setTheme(ChartTheme theme)
{
    m_theme = std::move(theme);
    updateGeometry();
    rebuild();
}

void ControlChart::selectSet(std::optional<std::size_t> index)
{
    if (index && *index >= m_scene.sets.size())
        index.reset();
    if (index == m_selected)
        return;
    m_selected = index;
    ringSet(*m_plot, m_scene, m_layout, m_theme, m_selected);
    m_plot->replot(QCustomPlot::rpQueuedReplot);
    describe();
    emit setSelected(m_selected ? static_cast<int>(*m_selected) : -1);
}

void ControlChart::describe()
{
    setAccessibleName(QString::fromStdString(m_scene.title));
    std::string text = m_scene.description;
    if (m_selected)
        text = m_scene.sets[*m_selected].facts + " " + words::setOf(*m_selected + 1, m_scene.sets.size()).toStdString() + " " + text;
    setAccessibleDescription(QString::fromStdString(text));
}

void ControlChart::rebuild()
{
    m_plot->setGeometry(rect());
    m_plot->setViewport(rect());
    m_layout = layOut(m_scene, m_theme, QSizeF(size()));
    drawControlChart(*m_plot, m_scene, m_layout, m_theme);
    ringSet(*m_plot, m_scene, m_layout, m_theme, m_selected);
    m_plot->replot(QCustomPlot::rpQueuedReplot);
}

void ControlChart::resizeEvent(QResizeEvent* event)
{
    QWidget::resizeEvent(event);
    rebuild();
}

void ControlChart::showEvent(QShowEvent* event)
{
    QWidget::showEvent(event);
    m_plot->setBufferDevicePixelRatio(devicePixelRatioF());
    m_plot->replot(QCustomPlot::rpQueuedReplot);
}

void ControlChart::keyPressEvent(QKeyEvent* event)
{
    const std::size_t count = m_scene.sets.size();
    if (count == 0)
        return QWidget::keyPressEvent(event);
    switch (event->key()) {
    case Qt::Key_Left: return selectSet(m_selected ? (*m_selected == 0 ? 0 : *m_selected - 1) : count - 1);
    case Qt::Key_Right: return selectSet(m_selected ? std::min(*m_selected + 1, count - 1) : count - 1);
    case Qt::Key_Home: return selectSet(0);
    case Qt::Key_End: return selectSet(count - 1);
    case Qt::Key_Return:
    case Qt::Key_Enter:
        if (m_selected) {
            emit setActivated(static_cast<int>(*m_selected));
            return;
        }
        break;
    default: break;
    }
    QWidget::keyPressEvent(event);
}

void ControlChart::focusInEvent(QFocusEvent* event)
{
    QWidget::focusInEvent(event);
    // Who comes by keyboard sees at once where they are.
    const bool byKey = event->reason() == Qt::TabFocusReason || event->reason() == Qt::BacktabFocusReason;
    if (byKey && !m_selected && !m_scene.sets.empty())
        selectSet(m_scene.sets.size() - 1);
}

bool ControlChart::eventFilter(QObject* watched, QEvent* event)
{
    if (watched != m_plot)
        return QWidget::eventFilter(watched, event);
    if (event->type() == QEvent::MouseMove) {
        const auto* mouse = static_cast<QMouseEvent*>(event);
        onPointer(mouse->position(), mouse->globalPosition().toPoint());
    } else if (event->type() == QEvent::MouseButtonPress) {
        setFocus(Qt::MouseFocusReason);
        if (const auto set = setNear(static_cast<QMouseEvent*>(event)->position()))
            selectSet(set);
    } else if (event->type() == QEvent::MouseButtonDblClick) {
        if (const auto set = setNear(static_cast<QMouseEvent*>(event)->position()))
            emit setActivated(static_cast<int>(*set));
    }
    return QWidget::eventFilter(watched, event);
}

void ControlChart::onPointer(const QPointF& at, const QPoint& global)
{
    const QString facts = factsNear(at);
    if (facts.isEmpty())
        QToolTip::hideText();
    else
        QToolTip::showText(global, Qt::mightBeRichText(facts) ? Qt::convertFromPlainText(facts) : facts, m_plot); // ids are no markup
}

std::optional<std::size_t> ControlChart::setNear(const QPointF& at) const
{
    std::optional<std::size_t> nearest;
    double best = kReach;
    for (std::size_t p = 0; p < m_layout.panels.size(); ++p)
        for (std::size_t i = 0; i < m_layout.panels[p].points.size(); ++i)
            if (const double away = distance(at, m_layout.panels[p].points[i]); away < best) {
                best = away;
                nearest = m_scene.panels[p].points[i].set;
            }
    return nearest;
}

QString ControlChart::factsNear(const QPointF& at) const
{
    std::string facts;
    double best = kReach;
    for (std::size_t p = 0; p < m_layout.panels.size(); ++p)
        for (std::size_t i = 0; i < m_layout.panels[p].points.size(); ++i)
            if (const double away = distance(at, m_layout.panels[p].points[i]); away < best) {
                best = away;
                facts = m_scene.panels[p].points[i].facts;
            }
    if (facts.empty())
        for (std::size_t i = 0; i < m_layout.eventX.size(); ++i)
            if (std::abs(m_layout.eventX[i] - at.x()) < 4)
                facts += (facts.empty() ? "" : "\n") + m_scene.events[i].detail;
    return QString::fromStdString(facts);
}

base::Done ControlChart::save(const QString& path) const
{
    return saveChart(path, size().expandedTo(minimumSizeHint()), QString::fromStdString(m_scene.title),
        QString::fromStdString(m_scene.description), [this](QPainter& painter, const QRectF& into) {
            painter.fillRect(into, m_theme.surface);
            paint(m_scene, m_theme, painter, into);
        });
}

void ControlChart::paint(const ControlChartScene& scene, const ChartTheme& theme, QPainter& painter, const QRectF& into)
{
    const QSize size = into.size().toSize();
    QCustomPlot plot;
    plot.setGeometry(QRect(QPoint(), size));
    plot.setViewport(QRect(QPoint(), size));
    drawControlChart(plot, scene, layOut(scene, theme, QSizeF(size)), theme);
    paintVectors(plot, painter, into);
}

} // namespace mk::report
