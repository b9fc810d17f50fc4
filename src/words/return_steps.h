// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/return_owed.h"

#include <QString>

#include <vector>

namespace mk::words {

/// What a stopped meter owes and who does it, as one line: "Two accepted control sets in a row"
QString said(const registry::OwedForReturn& owed);
/// All of it as one sentence; empty where nothing is owed.
QString owedInLine(const std::vector<registry::OwedForReturn>& owed);

} // namespace mk::words
