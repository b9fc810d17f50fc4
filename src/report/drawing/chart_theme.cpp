// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/chart_theme.h"

#include <algorithm>
#include <cmath>

namespace mk::report {

QFont bodyFont(int pixelSize)
{
    QFont font;
    font.setFamilies({ QStringLiteral("Open Sans"), QStringLiteral("DejaVu Sans") });
    font.setPixelSize(pixelSize);
    font.setHintingPreference(QFont::PreferNoHinting);
    // Spacing of any size switches ligatures off: a PDF with "fi" as one sign is not found by searching for the word.
    font.setLetterSpacing(QFont::AbsoluteSpacing, 0.02);
    return font;
}

QFont ChartTheme::small() const
{
    QFont result = font;
    result.setPixelSize(std::max(1, static_cast<int>(std::lround(font.pixelSize() * 0.875))));
    return result;
}

QFont ChartTheme::strong() const
{
    QFont result = font;
    result.setWeight(QFont::DemiBold);
    return result;
}

ChartTheme paperTheme(int pixelSize)
{
    const QColor black(Qt::black);
    const QColor white(Qt::white);
    const QColor grey(0x55, 0x55, 0x55);
    const QColor light(0xA8, 0xA8, 0xA8);
    const QColor ground(0xE4, 0xE4, 0xE4);
    return { white, white, black, black, grey, light, ground, black, black, black, black, black, white, bodyFont(pixelSize), 0 };
}

} // namespace mk::report
