// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/questions.h"

#include <QString>

/// What a person is asked about a result before it is saved, and what they may answer.
namespace mk::words {

/// At the moment of typing: "3.4 is unlikely in mg/dL. Look at the display."
QString asked(const registry::RunQuestion& question);
/// The answer that leaves the result as it was given, and the other one.
QString asGiven(const registry::RunQuestion& question);
QString asOther(const registry::RunQuestion& question);

/// In a list, where nobody can answer: "is 3.4 mg/dL really mg/dL? It is below 10"
QString listed(const registry::RunQuestion& question);

} // namespace mk::words
