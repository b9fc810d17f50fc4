// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/window_system.h"

#include <CLI/CLI.hpp>

#include <algorithm>

namespace mk::cli {

namespace {

bool hasPlot(const CLI::App& command)
{
    const CLI::Option* plot = command.get_option_no_throw("--plot");
    return (plot != nullptr && plot->count() > 0)
        || std::ranges::any_of(command.get_subcommands(), [](const CLI::App* below) { return hasPlot(*below); });
}

} // namespace

bool needsWindowSystem(const CLI::App& app)
{
    const auto chosen = app.get_subcommands();
    return hasPlot(app) || std::ranges::any_of(chosen, [](const CLI::App* command) { return command->get_name() == "review"; });
}

} // namespace mk::cli
