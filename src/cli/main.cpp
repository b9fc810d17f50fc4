// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/version.h"
#include "cli/copy_commands.h"
#include "study/commands/gs1.h"
#include "cli/lot_commands.h"
#include "cli/people_commands.h"
#include "cli/policy_command.h"
#include "cli/registry_commands.h"
#include "cli/secret_command.h"
#include "cli/server_command.h"
#include "cli/window_system.h"
#include "study/commands/commands.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "words/language.h"

#include <CLI/CLI.hpp>

#include <QApplication>

#include <memory>

namespace {

std::unique_ptr<QCoreApplication> applicationFor(const CLI::App& parsed, int& argc, char** argv)
{
    if (!mk::cli::needsWindowSystem(parsed))
        return std::make_unique<QCoreApplication>(argc, argv);
    qputenv("QT_QPA_PLATFORM", "offscreen");
    return std::make_unique<QApplication>(argc, argv);
}

} // namespace

int main(int argc, char** argv)
{
    // Standard error carries our one line; what Qt notes about the session is not for the person at the terminal.
    qInstallMessageHandler([](QtMsgType, const QMessageLogContext&, const QString&) {});

    mk::cli::Globals globals;
    globals.registry = mk::cli::defaultRegistryPath();
    std::string language;
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
    app.add_option("--language", language, "The language of what is printed for people, such as en (default: the session's)");
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
    mk::study::addStudyCommands(app, globals.json, chosen);
    mk::study::addGs1Command(app, globals.json, chosen);
    app.footer("Example: meterkeep-cli --registry ward5.mkr board");
    mk::study::refuseOddNumbers(app);
    try {
        app.parse(argc, argv);
        globals.shown = mk::cli::commandInWords(app);
    } catch (const CLI::CallForVersion& version) {
        return app.exit(version);
    } catch (const CLI::CallForHelp& help) {
        return app.exit(help);
    } catch (const CLI::ParseError& error) { // the one place where a library throws at us
        const auto unknown = app.remaining(true);
        return mk::study::printFault(unknown.empty()
                ? mk::study::plainUsageError(error, argc > 0 ? argv[argc - 1] : "")
                : mk::base::badInput("'%1' is not known here; see --help for the commands and options", unknown.front()));
    }
    const auto application = applicationFor(app, argc, argv);
    if (!globals.json) // what programs read knows no language
        if (const mk::base::Done spoken = mk::words::speak(QString::fromStdString(language)); !spoken)
            return mk::study::printFault(spoken.error());
    return chosen ? chosen() : mk::study::kExitBadInput;
}
