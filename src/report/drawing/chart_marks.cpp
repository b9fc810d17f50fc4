// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/chart_marks.h"

namespace mk::report {

QPainterPath squareWithBar()
{
    QPainterPath path;
    path.setFillRule(Qt::OddEvenFill);
    path.addRect(-3, -3, 6, 6);
    path.addRect(-1.9, -0.6, 3.8, 1.2);
    return path;
}

} // namespace mk::report
