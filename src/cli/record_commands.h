// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>
#include <optional>
#include <string>

namespace CLI {
class App;
}

namespace mk::cli {

/// `run add`.
void addRunCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

/// Nobody is named as the one who records.
base::Fault noOperator();
/// An option's text; nothing where it was left out.
std::optional<std::string> given(const std::string& text);

} // namespace mk::cli
