// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/fault.h"

#include <string>
#include <vector>

namespace CLI {
class App;
class ParseError;
class Validator;
}

/// What is wrong with the words of a command line, in our sentences instead of the parser's. The checks throw them; nothing reads them
/// back.
namespace mk::study {

/// A choice among these words, for an option's `check`.
CLI::Validator oneOf(std::vector<std::string> words);

/// Makes the app and every command below it refuse an option that is given twice, and a number that is written as no person writes one
/// (0x10, nan): the parser would take it for what it stands for. Call it when all commands have their options.
void refuseOddNumbers(CLI::App& app);
/// Makes the command refuse an option whose value is empty, as an unset variable of a shell leaves it, or is the name of another option.
void refuseOddValues(CLI::App& command);

/// One sentence: the option, and what to do.
/// lastWord   of the command line: an option that stands there lacks its value
base::Fault plainUsageError(const CLI::ParseError& error, const std::string& lastWord);

} // namespace mk::study
