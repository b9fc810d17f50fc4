// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"
#include "registry/policy/policy.h"

#include <functional>

namespace CLI {
class App;
}

namespace mk::cli {

/// A document that may be adopted, in full; a key that is not known is refused with its line and the nearest known one.
base::Result<registry::PolicyPairs> soundPolicy(const std::string& path);

/// policy show, check, adopt, preview.
void addPolicyCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
