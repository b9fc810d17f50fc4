// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/shape_holder.h"

#include <QLabel>
#include <QPainter>

#include <algorithm>

namespace mk::desktop {

ShapeHolder::ShapeHolder(QWidget* parent) : QWidget(parent)
{
    setFixedSize(u(2), u(2));
    hide();
}

void ShapeHolder::setShape(std::optional<StateShape> shape, Tone tone)
{
    m_shape = shape;
    m_tone = tone;
    setVisible(shape.has_value());
    update();
}

void ShapeHolder::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    if (m_shape)
        paintShape(painter, *m_shape, QRectF(rect()), colourOf(tokensOf(palette()), m_tone));
}

void wear(QLabel& label, TextSize size, Weight weight, Tone tone)
{
    label.setFont(fontOf(size, weight));
    wearTone(label, tone);
}

void wearTone(QLabel& label, Tone tone)
{
    QPalette palette = label.palette();
    // On a surface Qt reads the text's colour from another role than on paper.
    palette.setColor(QPalette::WindowText, colourOf(tokensOf(palette), tone));
    palette.setColor(QPalette::Text, colourOf(tokensOf(palette), tone));
    label.setPalette(palette);
}

void wrapBeyond(QLabel& label, int widest)
{
    const int natural = label.fontMetrics().horizontalAdvance(label.text());
    label.setWordWrap(natural > widest);
    label.setMinimumWidth(std::min(natural, widest));
}

} // namespace mk::desktop
