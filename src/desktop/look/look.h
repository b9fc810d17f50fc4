// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QFont>
#include <QPalette>

class QApplication;

/// The tokens of the look: colours, sizes and faces. Nothing else in the program names a colour or a size.
namespace mk::desktop {

enum class Theme { Light, Dark };

/// What a colour is for; the words are those of the look's table.
struct Tokens {
    QColor paper, surface;
    QColor ink, quiet;
    QColor line, hairline;
    QColor picked, onAction;
    QColor action, use, soon, stop, hold;
};

const Tokens& tokensOf(Theme theme);
/// The tokens of the theme that a widget's palette carries.
const Tokens& tokensOf(const QPalette& palette);

/// The colour that a text or a shape speaks in.
enum class Tone { Ink, Quiet, Action, Use, Soon, Stop, Hold };
QColor colourOf(const Tokens& tokens, Tone tone);

QPalette paletteOf(Theme theme);
/// The palette of the header while a past moment is shown: ink and paper change places.
QPalette reversedPalette(Theme theme);

enum class TextSize { Small, Body, Heading, Answer, Verdict };
enum class Weight { Regular, Semibold };
QFont fontOf(TextSize size, Weight weight = Weight::Regular);
/// For codes that someone compares with a label: 0 and O, 1 and l differ.
QFont codeFont();

/// `count` times half the body font's pixel size: every gap and every row is measured in it.
int u(double count = 1.0);
/// Behind the text of a table's column, in u; heads and cells keep the same.
inline constexpr double kColumnGap = 3;

/// Gives the whole program style, font and palette.
void dress(QApplication& application, Theme theme);

/// The contrast of two colours, 1 to 21; source: WCAG 2.1, relative luminance and contrast ratio.
double contrastOf(const QColor& a, const QColor& b);

} // namespace mk::desktop
