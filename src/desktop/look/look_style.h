// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QProxyStyle>

class QPushButton;

namespace mk::desktop {

/// How a button stands among others.
enum class ButtonKind { Plain, Likely, Grave };
/// Sets it as a property that the style reads. Likely: the filled one; Grave: takes something out of use.
void setButtonKind(QPushButton& button, ButtonKind kind);
/// What the button does, and the key that does it; the key stands behind the label in regular type.
void setButtonText(QPushButton& button, const QString& label, const QString& key);

/// Fusion without its gradients: flat buttons and fields with small corners, a focus ring that is always visible, dashed where disabled.
class LookStyle final : public QProxyStyle {
    Q_OBJECT

public:
    LookStyle();

    /// A label shows its text as it is: what is stored may look like markup.
    void polish(QWidget* widget) override;
    using QProxyStyle::polish;
    void drawControl(ControlElement element, const QStyleOption* option, QPainter* painter, const QWidget* widget) const override;
    void drawPrimitive(PrimitiveElement element, const QStyleOption* option, QPainter* painter, const QWidget* widget) const override;
    void drawComplexControl(
        ComplexControl control, const QStyleOptionComplex* option, QPainter* painter, const QWidget* widget) const override;
    QSize sizeFromContents(ContentsType type, const QStyleOption* option, const QSize& size, const QWidget* widget) const override;
    int pixelMetric(PixelMetric metric, const QStyleOption* option, const QWidget* widget) const override;
    int styleHint(StyleHint hint, const QStyleOption* option, const QWidget* widget, QStyleHintReturn* data) const override;
    QRect subElementRect(SubElement element, const QStyleOption* option, const QWidget* widget) const override;
};

} // namespace mk::desktop
