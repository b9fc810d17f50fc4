// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// server roles, upgrade, month: for whoever looks after a PostgreSQL server.
void addServerCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
