// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/server_command.h"

#include "cli/output.h"
#include "cli/password.h"
#include "store/engines/server_care.h"
#include "words/numbers.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

namespace mk::cli {

namespace {

struct ServerTexts {
    Q_DECLARE_TR_FUNCTIONS(Server)
};

int runUpgrade(const Globals& globals)
{
    const auto upgraded = store::upgradeServer(globals.registry, passwordSource());
    if (!upgraded)
        return printFault(upgraded.error());
    if (globals.json) {
        JsonWriter json;
        json.beginObject().key("format").value(1).key("before").value(upgraded->before).key("after").value(upgraded->after).endObject();
        return printText(json.text() + "\n");
    }
    const QString before = QString::number(upgraded->before), after = QString::number(upgraded->after);
    const QString said = before == after ? ServerTexts::tr("The schema is up to date (version %1).").arg(after)
                                         : ServerTexts::tr("The schema went from version %1 to %2.").arg(before, after);
    return printText(said.toStdString() + "\n");
}

int runMonth(const Globals& globals)
{
    const auto partition = store::startMonth(globals.registry, passwordSource());
    if (!partition)
        return printFault(partition.error());
    if (globals.json) {
        JsonWriter json;
        json.beginObject().key("format").value(1).key("partition").value(*partition).endObject();
        return printText(json.text() + "\n");
    }
    return printText(ServerTexts::tr("New entries go into %1.").arg(words::text(*partition)).toStdString() + "\n");
}

} // namespace

void addServerCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    CLI::App* server = app.add_subcommand("server", "Looks after a registry on a PostgreSQL server");
    server->require_subcommand(1);
    CLI::App* roles = server->add_subcommand(
        "roles", "Prints the SQL that makes the four roles; the database's administrator runs it once");
    addExample(*roles, "server roles | psql -d ward");
    roles->callback([&chosen] { chosen = [] { return printText(std::string(store::rolesScript())); }; });
    CLI::App* upgrade = server->add_subcommand("upgrade", "Brings the schema up to date, after the programs were updated");
    addExample(*upgrade, "--registry postgresql://keeper@db.example.org/ward server upgrade");
    upgrade->callback([&globals, &chosen] { chosen = [&globals] { return runUpgrade(globals); }; });
    CLI::App* month = server->add_subcommand(
        "month", "Ends the journal's partition of the months before; for the nightly job, does nothing within a month");
    addExample(*month, "--registry postgresql://keeper@db.example.org/ward server month");
    month->callback([&globals, &chosen] { chosen = [&globals] { return runMonth(globals); }; });
}

} // namespace mk::cli
