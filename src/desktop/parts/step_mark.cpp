// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/step_mark.h"

#include <QPainter>

namespace mk::desktop {

void paintStepMark(QPainter& painter, const QRectF& disc, StepProgress progress, const QString& number, const Tokens& t)
{
    const bool now = progress == StepProgress::Now;
    const bool done = progress == StepProgress::Done;
    painter.setBrush(now ? t.action : done ? t.ink : t.paper);
    painter.setPen(QPen(now ? t.action : done ? t.ink : t.line, 1));
    painter.drawEllipse(disc);
    painter.setFont(fontOf(TextSize::Body, Weight::Semibold));
    if (done) {
        painter.setPen(QPen(t.paper, 2));
        painter.drawPolyline(
            QPolygonF({ disc.center() + QPointF(-5, 0), disc.center() + QPointF(-1.5, 3.5), disc.center() + QPointF(5, -4) }));
    } else {
        painter.setPen(now ? t.onAction : t.ink);
        painter.drawText(disc, Qt::AlignCenter, number);
    }
}

StepMark::StepMark(StepProgress progress, const QString& number, QWidget* parent) : QWidget(parent), m_progress(progress), m_number(number)
{
    setFixedSize(u(4), u(4));
}

void StepMark::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    paintStepMark(painter, QRectF(rect()).adjusted(0.5, 0.5, -0.5, -0.5), m_progress, m_number, tokensOf(palette()));
}

} // namespace mk::desktop
