// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

/// Every sentence that a meter's state has, one row a state. Sources of the context "States": whoever shows one translates it.
namespace mk::words {

/// answer   to "may I use it?" where it may not be used: "Do not use"
/// onBoard  the same on a terminal, in a column that is narrow
/// since    %1 since when
/// wayBack  how it comes back into use
/// onChart  where the state begins; null where a chart says nothing
struct StateSentences {
    registry::MeterState state;
    const char* answer;
    const char* onBoard;
    const char* since;
    const char* wayBack;
    const char* onChart;
};

const StateSentences& sentencesOf(registry::MeterState state);

} // namespace mk::words
