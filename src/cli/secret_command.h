// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/signed_author.h"

#include <functional>

namespace mk::cli {

/// `secret set|check|list|unlock|recover`: passwords and PINs, and what to do where one is forgotten.
void addSecretCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

} // namespace mk::cli
