// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QFont>

namespace mk::report {

/// The colours and the type that a chart is drawn with; the tokens of the program's look, handed in. One scene serves screen and paper.
/// font     body type with its size in pixels; small text and titles are derived from it
/// inset    free space at the left and right edge, in pixels
struct ChartTheme {
    QColor paper, surface, ink, quiet, line, hairline, picked, action, use, soon, stop, hold, onAction;
    QFont font;
    double inset = 0;

    QFont small() const;
    QFont strong() const; ///< semibold, body size
};

/// Black alone, for paper. pixelSize of the body type.
ChartTheme paperTheme(int pixelSize);

/// Open Sans in a size in pixels, or DejaVu Sans where it is missing.
QFont bodyFont(int pixelSize);

} // namespace mk::report
