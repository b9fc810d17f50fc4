// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/ladder.h"

#include "desktop/parts/step_mark.h"

#include <QPainter>

#include <array>

namespace mk::desktop {

namespace {

constexpr int kSteps = 6;
constexpr double kStepHeight = 8.6; ///< u

struct StepText {
    QString what, how;
};

std::array<StepText, kSteps> stepTexts()
{
    return { { { Ladder::tr("Stop and label the meter"), Ladder::tr("it is on hold in the record") },
        { Ladder::tr("Check the technique"), Ladder::tr("level, mixing, first drop, strip, code") },
        { Ladder::tr("Repeat once"), Ladder::tr("new strip, same vials") },
        { Ladder::tr("Open a new control vial"), Ladder::tr("then run the level again") },
        { Ladder::tr("Open a new strip vial"), Ladder::tr("then run both levels") },
        { Ladder::tr("Withdraw the meter"), Ladder::tr("and tell the coordinator") } } };
}

} // namespace

Ladder::Ladder(QWidget* parent) : QWidget(parent)
{
    setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
    setStep(2);
}

void Ladder::setStep(int step)
{
    m_step = step;
    const auto texts = stepTexts();
    setAccessibleName(tr("Steps after a failed control: now step %1, %2").arg(step).arg(texts[static_cast<std::size_t>(step)].what));
    update();
}

QSize Ladder::sizeHint() const
{
    return { u(44), u(kStepHeight * kSteps - 4) };
}

void Ladder::paintEvent(QPaintEvent*)
{
    const Tokens& t = tokensOf(palette());
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    const double side = u(4);
    const auto texts = stepTexts();
    for (int step = 0; step < kSteps; ++step) {
        const double top = u(kStepHeight * step);
        const QRectF disc(0.5, top + 0.5, side - 1, side - 1);
        const bool done = step < m_step && step != 1;
        const bool now = step == m_step;
        if (step + 1 < kSteps) {
            painter.setPen(QPen(step < m_step ? t.ink : t.line, 2));
            painter.drawLine(QPointF(side / 2, top + side), QPointF(side / 2, top + u(kStepHeight)));
        }
        paintStepMark(painter, disc, now ? StepProgress::Now : done ? StepProgress::Done : StepProgress::Later, QString::number(step), t);
        const bool strong = now || done;
        painter.setPen(t.ink);
        painter.setFont(fontOf(TextSize::Body, strong ? Weight::Semibold : Weight::Regular));
        const QString word = now ? tr("now") : QString();
        const double room = width() - u(6.3) - (now ? QFontMetricsF(painter.font()).horizontalAdvance(word) + u(1) : 0);
        QRectF drawn;
        painter.drawText(QRectF(u(6.3), top - u(0.1), room, u(6)), Qt::TextWordWrap, texts[static_cast<std::size_t>(step)].what, &drawn);
        if (now) {
            painter.setPen(t.action);
            painter.drawText(QPointF(drawn.right() + u(1), drawn.top() + QFontMetricsF(painter.font()).ascent()), word);
        }
        painter.setPen(t.quiet);
        painter.setFont(fontOf(TextSize::Small));
        painter.drawText(
            QRectF(u(6.3), drawn.bottom(), width() - u(6.3), u(6)), Qt::TextWordWrap, texts[static_cast<std::size_t>(step)].how);
    }
}

} // namespace mk::desktop
