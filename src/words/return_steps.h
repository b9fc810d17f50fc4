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

/// Who may take a step: "A nurse or the coordinator"
QString said(registry::ReturnBy by);
/// Under a step: when it was met and by whom, how far it has come, or who may take it. name: of who met it; may be empty.
QString beneath(const registry::AskedForReturn& asked, const QString& name, const registry::Zone& zone);
/// "3 of 5 done"
QString doneOf(const std::vector<registry::AskedForReturn>& asked);

} // namespace mk::words
