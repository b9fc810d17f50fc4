// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

namespace mk::desktop {

/// The steps after a failed control (handbook 4.6), and which of them comes now. It only shows where one is.
class Ladder final : public QWidget {
    Q_OBJECT

public:
    explicit Ladder(QWidget* parent = nullptr);
    /// step  2 repeat, 3 new control vial, 4 new strip vial, 5 withdraw
    void setStep(int step);
    QSize sizeHint() const override;

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    int m_step = 2;
};

} // namespace mk::desktop
