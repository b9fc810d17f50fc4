// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/look/look.h"

#include <QFrame>

namespace mk::desktop {

/// A hairline frame with a bar in the state's colour at its left edge.
class VerdictFrame final : public QFrame {
    Q_OBJECT

public:
    explicit VerdictFrame(QWidget* parent = nullptr);
    void setTone(Tone tone);

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    Tone m_tone = Tone::Use;
};

} // namespace mk::desktop
