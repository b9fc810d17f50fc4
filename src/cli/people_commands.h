// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// operators: whose controls count, until when, and which badges were at two places.
void addPeopleCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
