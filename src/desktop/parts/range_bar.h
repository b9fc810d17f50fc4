// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

#include <QWidget>

namespace mk::desktop {

/// Where one result lies against its assigned range, drawn to scale. HI and LO stand at the ends.
class RangeBar final : public QWidget {
    Q_OBJECT

public:
    explicit RangeBar(QWidget* parent = nullptr);
    void setRun(const registry::Reading& reading, const registry::acts::JudgedRun& judged);
    QSize sizeHint() const override;

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    std::optional<registry::Reading> m_reading;
    registry::acts::JudgedRun m_judged;
};

} // namespace mk::desktop
