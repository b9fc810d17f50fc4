// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/wall_screen.h"

#include "desktop/parts/stale_board.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"

#include <QKeyEvent>
#include <QPainter>

#include <algorithm>

namespace mk::desktop {

namespace {

struct WallLine {
    QString meter;
    Standing standing;
};

void paintWallColumn(QPainter& painter, const QRect& box, const std::vector<WallLine>& lines, const Tokens& t, bool usable)
{
    if (lines.empty())
        return;
    // As large as the longer list allows, but never so large that a line is cut.
    const double rowHeight = std::min<double>(box.height() / static_cast<double>(lines.size()), u(14));
    QFont font = fontOf(TextSize::Body, Weight::Semibold);
    const double side = rowHeight * 0.44;
    const auto wide = [&] {
        int widest = 0;
        for (const WallLine& line : lines)
            widest = std::max(widest, QFontMetrics(font).horizontalAdvance(usable ? line.standing.when : line.standing.state));
        return static_cast<int>(side) + u(5) + QFontMetrics(font).horizontalAdvance(QStringLiteral("M-000")) + widest;
    };
    int size = std::max(u(2), static_cast<int>(rowHeight * 0.48));
    font.setPixelSize(size);
    while (size > u(2) && wide() > box.width())
        font.setPixelSize(--size);
    const int meterRoom = QFontMetrics(font).horizontalAdvance(QStringLiteral("M-000")) + u(3);
    double y = box.top();
    for (const WallLine& line : lines) {
        const QRectF row(box.left(), y, box.width(), rowHeight);
        paintShape(
            painter, line.standing.shape, QRectF(row.left(), row.center().y() - side / 2, side, side), colourOf(t, line.standing.tone));
        painter.setFont(font);
        painter.setPen(t.ink);
        painter.drawText(row.adjusted(side + u(2), 0, 0, 0), int(Qt::AlignVCenter), line.meter);
        painter.setPen(colourOf(t, line.standing.tone));
        painter.drawText(
            row.adjusted(side + u(2) + meterRoom, 0, 0, 0), int(Qt::AlignVCenter), usable ? line.standing.when : line.standing.state);
        painter.fillRect(QRectF(row.left(), row.bottom() - 1, row.width(), 1), t.hairline);
        y += rowHeight;
    }
}

} // namespace

WallScreen::WallScreen(QWidget* parent) : QWidget(parent)
{
    setFocusPolicy(Qt::StrongFocus);
    setAccessibleName(tr("Wall screen: meters that may be used, and those that may not. Any key returns."));
}

void WallScreen::setAnswer(const BoardAnswer& answer, const QString& ward)
{
    m_answer = answer;
    m_ward = ward;
    update();
}

void WallScreen::paintEvent(QPaintEvent*)
{
    const Tokens& t = tokensOf(palette());
    QPainter painter(this);
    painter.fillRect(rect(), t.paper);
    if (!m_answer)
        return;
    std::vector<WallLine> may;
    std::vector<WallLine> others;
    for (const auto& line : m_answer->lines) {
        WallLine wall { words::text(line.row.history.meter.act.meter.value), standingOf(line, m_answer->at, m_answer->zone) };
        (wall.standing.usable ? may : others).push_back(std::move(wall));
    }
    const auto urgent = [](const WallLine& a, const WallLine& b) {
        return std::pair(a.standing.rank, a.standing.order) < std::pair(b.standing.rank, b.standing.order);
    };
    std::ranges::stable_sort(others, urgent);
    painter.setPen(t.ink);
    painter.setFont(fontOf(TextSize::Answer, Weight::Semibold));
    const QRect head(u(4), u(2), width() - u(8), u(8));
    painter.drawText(
        head, int(Qt::AlignLeft) | int(Qt::AlignVCenter), tr("May be used: %1 of %2").arg(may.size()).arg(m_answer->lines.size()));
    painter.drawText(
        head.adjusted(head.width() / 2, 0, 0, 0), int(Qt::AlignLeft) | int(Qt::AlignVCenter), others.empty() ? QString() : tr("Not these"));
    painter.setFont(fontOf(TextSize::Heading));
    painter.setPen(t.quiet);
    painter.drawText(head, int(Qt::AlignRight) | int(Qt::AlignVCenter),
        m_answer->asOf ? tr("%1, no server; %2").arg(m_ward, ageInWords(*m_answer->asOf, m_answer->at, m_answer->zone))
                       : tr("%1, %2").arg(m_ward, words::full(m_answer->at, m_answer->zone)));
    painter.fillRect(QRect(u(4), u(10.5), width() - u(8), 1), t.line);
    const QRect body(u(4), u(11), width() / 2 - u(8), height() - u(13));
    paintWallColumn(painter, body, may, t, true);
    paintWallColumn(painter, QRect(head.left() + head.width() / 2, body.top(), head.width() / 2, body.height()), others, t, false);
}

void WallScreen::keyPressEvent(QKeyEvent*)
{
    emit left();
}

void WallScreen::mousePressEvent(QMouseEvent*)
{
    emit left();
}

} // namespace mk::desktop
