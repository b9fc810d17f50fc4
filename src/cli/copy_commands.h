// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

#include <functional>
#include <optional>

namespace CLI {
class App;
}

namespace mk::cli {

/// backup, restore, move. Each stores what is to be run in `chosen`.
void addCopyCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen);

/// What `board` says on standard error where the newest checked copy is older than the policy allows; nothing where it is not.
std::optional<std::string> overdueCopyInWords(store::Reader& reader, base::Moment now);

/// A board where the file is damaged: made anew from its journal, as far as that is whole to its end.
/// fault  what the damaged file answered
int boardFromJournal(const Globals& globals, const base::Fault& fault, const std::function<int(OpenRegistry&)>& print);

} // namespace mk::cli
