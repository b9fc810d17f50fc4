// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>

#include <cstdint>
#include <functional>

namespace mk::desktop {

/// A clock in milliseconds that nobody can set.
using IdleClock = std::function<std::int64_t()>;
std::int64_t steadyMilliseconds();

/// Sees every key, touch, wheel and movement of the mouse that reaches this program, whichever window it is for.
class InputWatch final : public QObject {
    Q_OBJECT

public:
    explicit InputWatch(IdleClock clock, QObject* parent = nullptr);

    std::int64_t idleMs() const { return m_clock() - m_last; }
    /// Somebody is there, as a key would show.
    void begin() { m_last = m_clock(); }

protected:
    bool eventFilter(QObject* watched, QEvent* event) override;

private:
    IdleClock m_clock;
    std::int64_t m_last;
};

} // namespace mk::desktop
