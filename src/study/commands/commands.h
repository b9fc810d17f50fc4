// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

namespace CLI {
class App;
}

namespace mk::study {

/// Adds `study` with a subcommand for each study: numbers in, numbers out, no registry.
/// app      the program's own; options that it defines (--json) may stand behind the subcommand too
/// json     where the app puts its --json flag; read when the command runs, so it must outlive `chosen`
/// chosen   receives what to run once the arguments are parsed; it returns the exit status: 0 done, 2 bad input
void addStudyCommands(CLI::App& app, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
