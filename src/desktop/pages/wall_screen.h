// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"

#include <QWidget>

namespace mk::desktop {

/// The ward across the room: what may be used on the left, everything else on the right. Any key leaves it.
class WallScreen final : public QWidget {
    Q_OBJECT

public:
    explicit WallScreen(QWidget* parent = nullptr);
    void setAnswer(const BoardAnswer& answer, const QString& ward);

signals:
    void left();

protected:
    void paintEvent(QPaintEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;

private:
    std::optional<BoardAnswer> m_answer;
    QString m_ward;
};

} // namespace mk::desktop
