// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QPainterPath>
#include <QRectF>

class QPainter;

namespace mk::desktop {

/// The shapes that say a state or a verdict beside its word; they mean the same on every screen.
enum class StateShape {
    Circle,      ///< may be used, holds
    HalfCircle,  ///< usable, something is due; watch
    BarSquare,   ///< must not be used, does not hold
    EmptySquare, ///< out of the ward's hands
    Dash         ///< retired; nothing to say
};

/// What is filled, in a square box; the outline of HalfCircle and EmptySquare is part of it.
QPainterPath shapePath(StateShape shape, const QRectF& box);
void paintShape(QPainter& painter, StateShape shape, const QRectF& box, const QColor& colour);

} // namespace mk::desktop
