// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/range_bar.h"

#include "desktop/look/look.h"
#include "desktop/look/shapes.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"

#include <QPainter>

#include <algorithm>

namespace mk::desktop {

RangeBar::RangeBar(QWidget* parent) : QWidget(parent)
{
    setFixedSize(sizeHint());
    hide();
}

QSize RangeBar::sizeHint() const
{
    return { u(44), u(12) };
}

void RangeBar::setRun(const registry::Reading& reading, const registry::acts::JudgedRun& judged)
{
    m_reading = reading;
    m_judged = judged;
    const bool drawable = judged.low && judged.high && !std::holds_alternative<registry::ErrorCode>(reading);
    setVisible(drawable);
    if (drawable)
        setAccessibleName(tr("%1 against the assigned range %2 to %3")
                              .arg(words::reading(reading), words::text(judged.low->typed()), words::text(judged.high->typed())));
    update();
}

void RangeBar::paintEvent(QPaintEvent*)
{
    if (!m_reading || !m_judged.low || !m_judged.high)
        return;
    const Tokens& t = tokensOf(palette());
    const double low = m_judged.low->toDouble();
    const double high = m_judged.high->toDouble();
    const auto* number = std::get_if<base::Decimal>(&*m_reading);
    const double width = std::max(high - low, 1e-9);
    double value = number != nullptr                         ? number->toDouble()
        : std::holds_alternative<registry::High>(*m_reading) ? high + width * 0.5
                                                             : low - width * 0.5;
    const double from = std::min(low, value) - width * 0.25;
    const double to = std::max(high, value) + width * 0.25;
    const double room = this->width() - u(4.0);
    const auto at = [&](double x) { return u(2.0) + (x - from) / (to - from) * room; };
    const double y = u(6);

    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setPen(QPen(t.line, 1));
    painter.drawLine(QPointF(0, y), QPointF(this->width(), y));
    painter.setPen(QPen(t.ink, 3));
    painter.drawLine(QPointF(at(low), y), QPointF(at(high), y));
    painter.setPen(QPen(t.ink, 1.5, Qt::DashLine));
    for (const double bound : { low, high })
        painter.drawLine(QPointF(at(bound), y - u(1.5)), QPointF(at(bound), y + u(1.5)));
    painter.setFont(fontOf(TextSize::Body));
    painter.setPen(t.ink);
    const auto label = [&](double x, double top, const QString& text) {
        painter.drawText(QRectF(at(x) - u(12), top, u(24), u(3)), Qt::AlignCenter, text);
    };
    label(low, y + u(1.8), words::text(m_judged.low->typed()));
    label(high, y + u(1.8), words::text(m_judged.high->typed()));
    painter.setFont(fontOf(TextSize::Small));
    painter.setPen(t.quiet);
    const double middle = m_judged.mean ? m_judged.mean->toDouble() : (low + high) / 2;
    const bool wide = at(high) - at(low) > u(20);
    if (wide)
        label((low + high) / 2, y - u(4.2), tr("assigned range"));
    if (m_judged.mean) {
        painter.setPen(QPen(t.ink, 1.5));
        painter.drawLine(QPointF(at(middle), y - u(0.9)), QPointF(at(middle), y + u(0.9)));
        painter.setPen(t.quiet);
        if (wide)
            label(middle, y + u(1.8), tr("target %1").arg(words::text(m_judged.mean->typed())));
    }
    const QColor colour = colourOf(t, toneOf(m_judged.verdict));
    painter.setPen(colour);
    painter.setFont(fontOf(TextSize::Heading, Weight::Semibold));
    label(value, y - u(4.5), words::reading(*m_reading));
    const double side = u(2.4);
    paintShape(painter, shapeOf(m_judged.verdict), QRectF(at(value) - side / 2, y - side / 2, side, side), colour);
}

} // namespace mk::desktop
