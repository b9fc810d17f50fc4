// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// trace lot, vial, meter, notice, excursion; stock. Each stores what is to be run in `chosen`.
void addLotCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);
void addStockCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

/// limits propose, limits accept.
void addLimitCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
