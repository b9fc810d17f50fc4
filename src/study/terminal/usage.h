// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/fault.h"

#include <cstdint>
#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
class ParseError;
}

/// What is wrong with the words of a command line, in our sentences instead of the parser's. The checks throw them; nothing reads them
/// back.
namespace mk::study {

/// Makes the option refuse what is none of these words. returns  the option
CLI::Option* oneOf(CLI::Option* option, std::vector<std::string> words);
/// Makes the option refuse a whole number outside of both ends. returns  the option
CLI::Option* between(CLI::Option* option, std::int64_t least, std::int64_t most);

/// Makes the app and every command below it refuse an option that is given twice, and a number that is written as no person writes one
/// (0x10, nan): the parser would take it for what it stands for. Call it when all commands have their options.
void refuseOddNumbers(CLI::App& app);
/// Makes the command refuse an option whose value is empty, as an unset variable of a shell leaves it, or is the name of another option.
void refuseOddValues(CLI::App& command);

/// One sentence: the option, and what to do. It follows from what kind of error was thrown and from what the app has taken, never from what
/// the error says.
/// app     as its parsing left it
/// words   of the command line, in their order
base::Fault usageFault(const CLI::App& app, const CLI::ParseError& error, const std::vector<std::string>& words);

} // namespace mk::study
