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
#include "study/terminal/help.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "words/language.h"

#include <CLI/CLI.hpp>

#include <QApplication>

#include <algorithm>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace {

std::unique_ptr<QCoreApplication> applicationFor(const CLI::App& parsed, int& argc, char** argv)
{
    if (!mk::cli::needsWindowSystem(parsed))
        return std::make_unique<QCoreApplication>(argc, argv);
    qputenv("QT_QPA_PLATFORM", "offscreen");
    return std::make_unique<QApplication>(argc, argv);
}

/// What programs read knows no language.
mk::base::Done speakFor(const CLI::App& parsed)
{
    if (parsed.get_option("--json")->count() > 0)
        return {};
    const auto asked = parsed.get_option("--language")->results(); // taken, even where the parser stopped before it kept them
    return mk::words::speak(asked.empty() ? QString() : QString::fromStdString(asked.back()));
}

/// Help, or what is wrong with the words, said without running a command.
int sayInstead(const CLI::App& parsed, int& argc, char** argv, const std::function<int()>& say)
{
    const QCoreApplication application(argc, argv);
    const mk::base::Done spoken = speakFor(parsed);
    return spoken ? say() : mk::study::printFault(spoken.error());
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
    mk::study::speakHelp(app);
    app.set_version_flag("--version", mk::base::programName(), "Display program version information and exit");
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
    mk::study::addExample(app, "--registry ward5.mkr board");
    mk::study::refuseOddNumbers(app);
    try {
        app.parse(argc, argv);
        globals.shown = mk::cli::commandInWords(app);
    } catch (const CLI::CallForVersion& version) {
        return app.exit(version);
    } catch (const CLI::CallForHelp& help) {
        return sayInstead(app, argc, argv, [&] { return app.exit(help); });
    } catch (const CLI::ParseError& error) { // the one place where a library throws at us
        const std::vector<std::string> words(argv + std::min(argc, 1), argv + argc);
        return sayInstead(app, argc, argv, [&] { return mk::study::printFault(mk::study::usageFault(app, error, words)); });
    }
    const auto application = applicationFor(app, argc, argv);
    if (const mk::base::Done spoken = speakFor(app); !spoken)
        return mk::study::printFault(spoken.error());
    return chosen ? chosen() : mk::study::kExitBadInput;
}
