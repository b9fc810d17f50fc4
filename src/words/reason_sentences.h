// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/reason.h"

namespace mk::words {

/// What a code says by itself, where no fact is at hand: English, of the context "Reasons". One row a code.
/// happened  why
/// toDo      may be null: nothing is to be done
/// sheet     to somebody who holds the vial or the meter now; null where `happened` serves
/// chart     short enough to stand in a chart; null where "invalid" must do
struct ReasonSentences {
    registry::ReasonCode code;
    const char* happened;
    const char* toDo;
    const char* sheet = nullptr;
    const char* chart = nullptr;
};
const ReasonSentences& sentencesOf(registry::ReasonCode code);

} // namespace mk::words
