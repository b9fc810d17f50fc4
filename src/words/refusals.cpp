// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/faults.h"

#include <QtGlobal>

namespace mk::words {

std::span<const FaultSentence> deskSentences()
{
    return {};
}

} // namespace mk::words
