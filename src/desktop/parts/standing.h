// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/look/look.h"
#include "desktop/look/shapes.h"

#include <QString>

namespace mk::desktop {

/// How one meter stands, in the words, shape and colour of the ward board.
struct Standing {
    StateShape shape = StateShape::BarSquare;
    Tone tone = Tone::Stop;
    QString state;           ///< "May be used"
    QString when;            ///< "until 14:05", may be empty
    QString why;             ///< one line: why, and what to do next
    QString sentence;        ///< "M-04 may be used until Thu 05:41"
    bool needsHands = false; ///< the ward has something to do
    bool usable = false;
    int rank = 0;           ///< most urgent first
    std::int64_t order = 0; ///< within the rank
};

Standing standingOf(const BoardLine& line, base::Moment at, const registry::Zone& zone);

/// "Low 46, high 291, accepted 05:20 today"
QString setInWords(const registry::SetRecord& set, base::Moment now, const registry::Zone& zone);

/// The shape and colour that carry a verdict.
StateShape shapeOf(registry::Verdict verdict);
Tone toneOf(registry::Verdict verdict);

} // namespace mk::desktop
