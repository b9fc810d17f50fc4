// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <QString>

/// In which language the programs speak.
namespace mk::words {

/// Names the language by its tag ("en", "pt"), or "pseudo" for the one that nobody speaks (pseudo_language.h).
/// tag     empty: what MK_LANGUAGE says, else what the session says
/// errors  BadInput for a language that was asked for and has no translation; the session's own without one stays English, without a word
/// thread  that of the application object, once, before any text is made
base::Done speak(const QString& tag = {});

} // namespace mk::words
