// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/look/look.h"
#include "desktop/look/shapes.h"

#include <QWidget>

#include <optional>

class QLabel;

namespace mk::desktop {

/// The place of a shape in a form; empty it keeps its room only if told so.
class ShapeHolder final : public QWidget {
    Q_OBJECT

public:
    explicit ShapeHolder(QWidget* parent = nullptr);
    void setShape(std::optional<StateShape> shape, Tone tone = Tone::Ink);

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    std::optional<StateShape> m_shape;
    Tone m_tone = Tone::Ink;
};

/// Gives a label of a form its size and colour; a form cannot name tokens.
void wear(QLabel& label, TextSize size, Weight weight, Tone tone);
void wearTone(QLabel& label, Tone tone);
/// On one line, and asking for its room, as long as that is no wider; beyond it the text wraps.
void wrapBeyond(QLabel& label, int widest);

} // namespace mk::desktop
