// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace CLI {
class App;
class ParseError;
}

namespace mk::cli {

/// What is wrong with the words of a command line, in plain words instead of the parser's: the option, and what to do.
std::string plainUsageError(const CLI::ParseError& error);

/// Makes a command refuse an option whose value is empty, as an unset variable of a shell leaves it, and a number that is written as no
/// person writes one (0x10, nan). The parser would take the one for 0, the other for what it stands for.
void refuseOddValues(CLI::App& command);

} // namespace mk::cli
