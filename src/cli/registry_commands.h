// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// init, import, board, meter, review, verify. Each stores what is to be run in `chosen`.
void addRegistryCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

/// run add, act KIND.
void addRecordCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
