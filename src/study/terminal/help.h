// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
}

/// The help of the commands, in the language of whoever asks. What a command says of itself in English is the key of its translation, so
/// that a description stands beside its option and nowhere else.
namespace mk::study {

/// Makes the app, and every command that is added to it afterwards, say its help in the language that is spoken when it is printed.
void speakHelp(CLI::App& app);

/// Descriptions that are made of a sentence and what stands in its places %1 to %3.
void describe(CLI::App& command, const char* sentence, const std::vector<std::string>& parts);
void describe(CLI::App& command, CLI::Option& option, const char* sentence, const std::vector<std::string>& parts);
/// What stands under the command's help, made in the same way.
void addFooter(CLI::App& command, const char* sentence, const std::vector<std::string>& parts);
/// How the command is called, under its help. words   behind the program's name
void addExample(CLI::App& command, const std::string& words);

} // namespace mk::study
