// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/causes.h"

#include "words/numbers.h"
#include "words/reason_sentences.h"

#include <QCoreApplication>

namespace mk::words {

namespace {

struct CauseTexts {
    Q_DECLARE_TR_FUNCTIONS(Causes)
};

} // namespace

QString causeSaid(std::string_view code)
{
    using registry::StopOnly;
    if (const auto reason = registry::reasonOf(code))
        return QCoreApplication::translate("Reasons", sentencesOf(*reason).happened);
    const auto only = registry::valueOf<StopOnly>(code);
    if (!only)
        return text(code);
    switch (*only) {
    case StopOnly::Found: return CauseTexts::tr("It was missing, and was found.");
    case StopOnly::Movement: return CauseTexts::tr("Somebody took it out of use.");
    case StopOnly::ReturnAnnulled: return CauseTexts::tr("The return of it was annulled.");
    }
    return {};
}

} // namespace mk::words
