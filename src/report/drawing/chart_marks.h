// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPainterPath>

namespace mk::report {

/// A square of 6 x 6 around the origin with a bar left open in it: must not be used.
QPainterPath squareWithBar();

} // namespace mk::report
