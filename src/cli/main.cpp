// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/version.h"
#include "cli/copy_commands.h"
#include "cli/gs1_command.h"
#include "cli/lot_commands.h"
#include "cli/people_commands.h"
#include "cli/policy_command.h"
#include "cli/registry_commands.h"
#include "cli/server_command.h"
#include "cli/secret_command.h"
#include "cli/study_commands.h"
#include "cli/study_output.h"
#include "cli/usage_words.h"

#include <CLI/CLI.hpp>

#include <QApplication>

#include <algorithm>
#include <memory>
#include <string_view>

namespace {

/// A review on paper and the plot of a study need fonts and charts, so a window system: the one without a screen. Nothing else does.
std::unique_ptr<QCoreApplication> applicationFor(int& argc, char** argv)
{
    const bool draws = std::any_of(
        argv, argv + argc, [](std::string_view word) { return word == "review" || word == "--plot" || word.starts_with("--plot="); });
    if (!draws)
        return std::make_unique<QCoreApplication>(argc, argv);
    qputenv("QT_QPA_PLATFORM", "offscreen");
    return std::make_unique<QApplication>(argc, argv);
}

} // namespace

int main(int argc, char** argv)
{
    // Standard error carries our one line; what Qt notes about the session is not for the person at the terminal.
    qInstallMessageHandler([](QtMsgType, const QMessageLogContext&, const QString&) {});
    const auto application = applicationFor(argc, argv);

    mk::cli::Globals globals;
    globals.registry = mk::cli::defaultRegistryPath();
    std::function<int()> chosen;
    CLI::App app {
        "Meterkeep: may this glucose meter be used, and how do you know?\nFollow the maker's insert and local policy; they win over this program.",
        "meterkeep-cli"
    };
    app.set_version_flag("--version", mk::base::programName());
    app.require_subcommand(1);
    app.add_option("--registry", globals.registry, "The registry file");
    app.add_option("--operator", globals.person, "Who records");
    app.add_option("--at", globals.at, "The moment to judge from, such as 2026-11-18T06:52 (default: now)");
    app.add_option("--as-of", globals.asOf, "What was known at this entry of the journal (default: all)");
    app.add_flag("--json", globals.json, "Print one JSON document");
    mk::cli::addSecretOptions(app, globals);
    mk::cli::addRegistryCommands(app, globals, chosen);
    mk::cli::addRecordCommands(app, globals, chosen);
    mk::cli::addCopyCommands(app, globals, chosen);
    mk::cli::addLotCommands(app, globals, chosen);
    mk::cli::addLimitCommands(app, globals, chosen);
    mk::cli::addPeopleCommands(app, globals, chosen);
    mk::cli::addPolicyCommands(app, globals, chosen);
    mk::cli::addSecretCommand(app, globals, chosen);
    mk::cli::addServerCommands(app, globals, chosen);
    mk::cli::addStudyCommands(app, globals.json, chosen);
    mk::cli::addGs1Command(app, globals.json, chosen);
    app.footer("Example: meterkeep-cli --registry ward5.mkr board");
    try {
        app.parse(argc, argv);
        globals.shown = mk::cli::commandInWords(app);
    } catch (const CLI::CallForVersion& version) {
        return app.exit(version);
    } catch (const CLI::CallForHelp& help) {
        return app.exit(help);
    } catch (const CLI::ParseError& error) { // the one place where a library throws at us
        const auto unknown = app.remaining(true);
        return mk::cli::printFault(
            mk::base::badInput(unknown.empty() ? mk::cli::plainUsageError(error)
                                               : "'" + unknown.front() + "' is not known here; see --help for the commands and options"));
    }
    return chosen ? chosen() : mk::cli::kExitBadInput;
}
