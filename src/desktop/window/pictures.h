// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/window/main_window.h"

#include <QString>

class QApplication;

namespace mk::desktop {

/// Grabs every screen, light and dark, at 1280x720 into a folder as screen-theme-1280x720.png. Works on a copy of the registry,
/// so that a control can be run for the pictures; the moment of the options is taken as the clock.
/// returns what went wrong, or an empty text
QString takePictures(QApplication& application, const WindowOptions& options, const QString& folder);

} // namespace mk::desktop
