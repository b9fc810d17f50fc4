// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/input_watch.h"

#include <QCoreApplication>
#include <QEvent>

#include <chrono>

namespace mk::desktop {

std::int64_t steadyMilliseconds()
{
    return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

InputWatch::InputWatch(IdleClock clock, QObject* parent) : QObject(parent), m_clock(std::move(clock)), m_last(m_clock())
{
    QCoreApplication::instance()->installEventFilter(this);
}

bool InputWatch::eventFilter(QObject* watched, QEvent* event)
{
    switch (event->type()) {
    case QEvent::KeyPress:
    case QEvent::MouseButtonPress:
    case QEvent::MouseMove:
    case QEvent::Wheel:
    case QEvent::TouchBegin:
    case QEvent::TouchUpdate:
    case QEvent::TabletPress: begin(); break;
    default: break;
    }
    return QObject::eventFilter(watched, event);
}

} // namespace mk::desktop
