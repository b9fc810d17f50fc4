// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/look.h"

#include "desktop/look/look_style.h"

#include <QApplication>
#include <QFontDatabase>
#include <QFontInfo>

#include <algorithm>
#include <cmath>

namespace mk::desktop {

namespace {

constexpr double kBodyPoints = 10.5;
constexpr double kLeastPoints = 9.0;

QColor rgb(QRgb value)
{
    return QColor::fromRgb(value);
}

double sizeFactor(TextSize size)
{
    switch (size) {
    case TextSize::Small: return 0.875;
    case TextSize::Body: return 1.0;
    case TextSize::Heading: return 1.25;
    case TextSize::Answer: return 1.75;
    case TextSize::Verdict: return 3.0;
    }
    return 1.0;
}

QString textFamily()
{
    static const QString kWanted = QStringLiteral("Open Sans");
    return QFontDatabase::families().contains(kWanted) ? kWanted : QStringLiteral("DejaVu Sans");
}

double luminance(const QColor& colour)
{
    const auto linear = [](double channel) { return channel <= 0.03928 ? channel / 12.92 : std::pow((channel + 0.055) / 1.055, 2.4); };
    return 0.2126 * linear(colour.redF()) + 0.7152 * linear(colour.greenF()) + 0.0722 * linear(colour.blueF());
}

} // namespace

const Tokens& tokensOf(Theme theme)
{
    static const Tokens kLight { rgb(0xF6F5F1), rgb(0xFFFFFF), rgb(0x20262B), rgb(0x566068), rgb(0x80898F), rgb(0xDCDDD9), rgb(0xEDF3F8),
        rgb(0xFFFFFF), rgb(0x245B8F), rgb(0x1E6B52), rgb(0x7A5200), rgb(0xA12B2B), rgb(0x6A3D8A) };
    static const Tokens kDark { rgb(0x171A1D), rgb(0x20252A), rgb(0xE9E7E1), rgb(0xA9B1B7), rgb(0x7A848B), rgb(0x363D44), rgb(0x27343F),
        rgb(0x14202B), rgb(0x86B8E6), rgb(0x74C9A5), rgb(0xE2B457), rgb(0xF09A94), rgb(0xC9A6E4) };
    return theme == Theme::Light ? kLight : kDark;
}

const Tokens& tokensOf(const QPalette& palette)
{
    return tokensOf(palette.color(QPalette::Window).lightness() < 128 ? Theme::Dark : Theme::Light);
}

QColor colourOf(const Tokens& tokens, Tone tone)
{
    switch (tone) {
    case Tone::Ink: return tokens.ink;
    case Tone::Quiet: return tokens.quiet;
    case Tone::Action: return tokens.action;
    case Tone::Use: return tokens.use;
    case Tone::Soon: return tokens.soon;
    case Tone::Stop: return tokens.stop;
    case Tone::Hold: return tokens.hold;
    }
    return tokens.ink;
}

QPalette paletteOf(Theme theme)
{
    const Tokens& t = tokensOf(theme);
    QPalette palette;
    palette.setColor(QPalette::Window, t.paper);
    palette.setColor(QPalette::WindowText, t.ink);
    palette.setColor(QPalette::Base, t.surface);
    palette.setColor(QPalette::AlternateBase, t.surface);
    palette.setColor(QPalette::Text, t.ink);
    palette.setColor(QPalette::PlaceholderText, t.quiet);
    palette.setColor(QPalette::Button, t.surface);
    palette.setColor(QPalette::ButtonText, t.action);
    palette.setColor(QPalette::Highlight, t.action);
    palette.setColor(QPalette::HighlightedText, t.onAction);
    palette.setColor(QPalette::Link, t.action);
    palette.setColor(QPalette::ToolTipBase, t.surface);
    palette.setColor(QPalette::ToolTipText, t.ink);
    palette.setColor(QPalette::Light, t.surface);
    palette.setColor(QPalette::Midlight, t.hairline);
    palette.setColor(QPalette::Mid, t.line);
    palette.setColor(QPalette::Dark, t.line);
    palette.setColor(QPalette::Shadow, t.line);
    for (const auto role : { QPalette::WindowText, QPalette::Text, QPalette::ButtonText })
        palette.setColor(QPalette::Disabled, role, t.quiet);
    return palette;
}

QPalette reversedPalette(Theme theme)
{
    QPalette palette = paletteOf(theme == Theme::Light ? Theme::Dark : Theme::Light);
    const Tokens& t = tokensOf(theme);
    palette.setColor(QPalette::Window, t.ink);
    palette.setColor(QPalette::Base, t.ink);
    palette.setColor(QPalette::WindowText, t.paper);
    palette.setColor(QPalette::Text, t.paper);
    return palette;
}

QFont fontOf(TextSize size, Weight weight)
{
    QFont font(textFamily());
    font.setPointSizeF(std::max(kLeastPoints, kBodyPoints * sizeFactor(size)));
    font.setWeight(weight == Weight::Semibold ? QFont::DemiBold : QFont::Normal);
    return font;
}

QFont codeFont()
{
    QFont font(QStringLiteral("DejaVu Sans Mono"));
    font.setStyleHint(QFont::Monospace);
    font.setPointSizeF(kBodyPoints * 0.9);
    return font;
}

int u(double count)
{
    return qRound(count * QFontInfo(QApplication::font()).pixelSize() / 2.0);
}

void dress(QApplication& application, Theme theme)
{
    QApplication::setStyle(new LookStyle);
    QApplication::setFont(fontOf(TextSize::Body));
    QApplication::setPalette(paletteOf(theme));
    application.setProperty("theme", theme == Theme::Light ? QStringLiteral("light") : QStringLiteral("dark"));
}

double contrastOf(const QColor& a, const QColor& b)
{
    const auto [darker, lighter] = std::minmax({ luminance(a), luminance(b) }); // by value: references would dangle
    return (lighter + 0.05) / (darker + 0.05);
}

} // namespace mk::desktop
