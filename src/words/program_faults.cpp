// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/faults.h"

#include <QtGlobal>

namespace mk::words {

std::span<const FaultSentence> programSentences()
{
    static constexpr FaultSentence kSentences[] = {
        { "no-translation", QT_TRANSLATE_NOOP("Fault", "there is no translation into '%1'; leave the language out for English") },
    };
    return kSentences;
}

} // namespace mk::words
