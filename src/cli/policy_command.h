// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// policy show, check, adopt, preview.
void addPolicyCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
