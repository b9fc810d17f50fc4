// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "report/drawing/chart_layout.h"

#include <QWidget>

#include <optional>

class QCustomPlot;
class QPainter;

namespace mk::report {

/// The control chart of one meter on screen. Left, Right, Home and End step set by set, Enter or a double click opens the entry, the
/// pointer shows a run's facts. Its accessible name is the finding; its description says what the chart shows and what is selected.
class ControlChart final : public QWidget {
    Q_OBJECT

public:
    explicit ControlChart(QWidget* parent = nullptr);
    ~ControlChart() override;

    /// Shows another scene and forgets the selection.
    void setScene(ControlChartScene scene, ChartTheme theme);
    /// The same scene in other colours or another type size.
    void setTheme(ChartTheme theme);
    const ControlChartScene& scene() const { return m_scene; }

    /// index   into scene().sets; nothing takes the ring away
    void selectSet(std::optional<std::size_t> index);
    std::optional<std::size_t> selectedSet() const { return m_selected; }

    /// Saves what is shown, without the ring; the ending says how: .png, .svg or .pdf.
    /// errors  BadInput for another ending, Io
    base::Done save(const QString& path) const;

    /// Paints a scene into a rectangle, as lines and text.
    static void paint(const ControlChartScene& scene, const ChartTheme& theme, QPainter& painter, const QRectF& into);

    QSize sizeHint() const override;
    QSize minimumSizeHint() const override;

signals:
    void setSelected(int index); ///< -1: none
    void setActivated(int index);

protected:
    void resizeEvent(QResizeEvent* event) override;
    void showEvent(QShowEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void focusInEvent(QFocusEvent* event) override;
    bool eventFilter(QObject* watched, QEvent* event) override;

private:
    void rebuild();
    void describe();
    void onPointer(const QPointF& at, const QPoint& global);
    std::optional<std::size_t> setNear(const QPointF& at) const;
    QString factsNear(const QPointF& at) const;

    QCustomPlot* m_plot = nullptr;
    ControlChartScene m_scene;
    ChartTheme m_theme;
    ChartLayout m_layout;
    std::optional<std::size_t> m_selected;
};

} // namespace mk::report
