// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/look/look.h"

#include <QWidget>

class QPainter;

namespace mk::desktop {

/// Where one stands on a way of several steps. These marks are no shapes of a meter's state.
enum class StepProgress { Done, Now, Later };

/// A filled disc with a check, a disc with its number now, an open one later.
void paintStepMark(QPainter& painter, const QRectF& disc, StepProgress progress, const QString& number, const Tokens& tokens);

/// The mark by itself, as wide as a step's text stands to its right.
class StepMark final : public QWidget {
    Q_OBJECT

public:
    StepMark(StepProgress progress, const QString& number, QWidget* parent);
    StepProgress progress() const { return m_progress; }

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    StepProgress m_progress;
    QString m_number;
};

} // namespace mk::desktop
