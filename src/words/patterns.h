// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_patterns.h"
#include "registry/month/patterns.h"

#include <QString>

/// What stands out in the record: a question to the process, never to a person.
namespace mk::words {

QString patternSaid(const registry::Pattern& pattern);
QString patternSaid(const registry::FailurePattern& pattern);
/// Stands above the list wherever it is shown.
QString patternsNote();

} // namespace mk::words
