// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/verdict_frame.h"

#include <QPainter>

namespace mk::desktop {

VerdictFrame::VerdictFrame(QWidget* parent) : QFrame(parent)
{
    setBackgroundRole(QPalette::Base);
    setAutoFillBackground(true);
}

void VerdictFrame::setTone(Tone tone)
{
    m_tone = tone;
    update();
}

void VerdictFrame::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    const Tokens& t = tokensOf(palette());
    painter.setPen(t.hairline);
    painter.drawRect(rect().adjusted(0, 0, -1, -1));
    painter.fillRect(0, 0, u(1), height(), colourOf(t, m_tone));
}

} // namespace mk::desktop
