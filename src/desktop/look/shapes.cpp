// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/shapes.h"

#include <QPainter>

#include <algorithm>

namespace mk::desktop {

namespace {

/// A closed ring between a box and the same box made smaller.
template <typename Add>
QPainterPath ringPath(const QRectF& box, double width, Add add)
{
    QPainterPath path;
    path.setFillRule(Qt::OddEvenFill);
    add(path, box);
    add(path, box.adjusted(width, width, -width, -width));
    return path;
}

} // namespace

QPainterPath shapePath(StateShape shape, const QRectF& box)
{
    const double side = std::min(box.width(), box.height());
    const double stroke = std::max(1.5, side / 8.0);
    QPainterPath path;
    path.setFillRule(Qt::OddEvenFill);
    switch (shape) {
    case StateShape::Circle: path.addEllipse(box); break;
    case StateShape::HalfCircle: {
        path = ringPath(box, stroke, [](QPainterPath& p, const QRectF& r) { p.addEllipse(r); });
        QPainterPath half;
        const QRectF inner = box.adjusted(stroke, stroke, -stroke, -stroke);
        half.moveTo(box.center());
        half.arcTo(inner, 90, 180);
        half.closeSubpath();
        path.addPath(half);
        break;
    }
    case StateShape::BarSquare:
        path.addRect(box);
        path.addRect(QRectF(box.left() + side * 0.22, box.center().y() - side * 0.11, side * 0.56, side * 0.22));
        break;
    case StateShape::EmptySquare: path = ringPath(box, stroke, [](QPainterPath& p, const QRectF& r) { p.addRect(r); }); break;
    case StateShape::Dash: path.addRect(QRectF(box.left() + side * 0.1, box.center().y() - stroke / 2, side * 0.8, stroke)); break;
    }
    return path;
}

void paintShape(QPainter& painter, StateShape shape, const QRectF& box, const QColor& colour)
{
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.fillPath(shapePath(shape, box), colour);
    painter.restore();
}

} // namespace mk::desktop
