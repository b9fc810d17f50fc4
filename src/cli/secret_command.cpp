// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/secret_command.h"

#include "cli/output.h"
#include "cli/secret_source.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

namespace mk::cli {

using base::Fault;
using base::FaultKind;
using base::Result;
using store::Secret;

namespace {

struct SecretTexts {
    Q_DECLARE_TR_FUNCTIONS(Secrets)
};

struct SecretOptions {
    std::string person, reason, witness;
};

/// The registry with its registrar and the desk where people sign in.
struct Desk {
    OpenRegistry open;
    std::unique_ptr<store::Registrar> registrar;
    store::SignInDesk desk() { return { *open.session, *registrar, store::machineClock, stationName() }; }
};

Result<Desk> openDesk(const Globals& globals)
{
    if (globals.person.empty())
        return base::fault(base::FaultKind::BadInput, "nobody is named; say who you are with --operator ID");
    auto open = openUnsigned(globals);
    if (!open)
        return open.error();
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return registrar.error();
    return Desk { std::move(open).value(), std::move(registrar).value() };
}

/// The same, and who acts there, signed in where that is set up.
struct SignedDesk {
    Desk desk;
    store::Author author;
};

Result<SignedDesk> openSigned(const Globals& globals)
{
    auto opened = openDesk(globals);
    if (!opened)
        return opened.error();
    auto author = signedAuthor(*opened->open.session, globals, Asked::ToRecord);
    if (!author)
        return author.error();
    return SignedDesk { std::move(opened).value(), std::move(author).value() };
}

/// Built around the code, so that no other text keeps a copy of it.
std::string codeInWords(const QString& first, const Secret& code)
{
    const std::string before = first.toStdString() + "\n\n  " + SecretTexts::tr("Recovery code:").toStdString() + " ";
    const std::string behind = "\n\n"
        + SecretTexts::tr("Write it down now; it is not shown again. Seal it in an envelope, sign across the flap, and keep it where two "
                          "people must agree to open it.\n"
                          "It lets a coordinator back in who forgot their secret: meterkeep-cli secret recover.")
              .toStdString()
        + "\n";
    std::string text;
    text.reserve(before.size() + code.text().size() + behind.size());
    return text.append(before).append(code.text()).append(behind);
}

/// The code stands on the terminal once, and nowhere else.
int printCode(const Globals& globals, const QString& first, const Secret& code)
{
    std::string text = globals.json ? JsonWriter()
                                          .beginObject()
                                          .key("format")
                                          .value(1)
                                          .key("operator")
                                          .value(globals.person)
                                          .key("recovery_code")
                                          .value(std::string(code.text()))
                                          .endObject()
                                          .text()
            + "\n"
                                    : codeInWords(first, code);
    const int printed = printText(text);
    store::wipeText(text);
    return printed;
}

int printSaid(const Globals& globals, const std::string& person, const QString& said)
{
    if (globals.json)
        return printText(JsonWriter().beginObject().key("format").value(1).key("operator").value(person).endObject().text() + "\n");
    return printText(said.toStdString() + "\n");
}

std::string newSecretOf(const Globals& globals)
{
    return SecretTexts::tr("New secret of %1").arg(words::text(globals.person)).toStdString();
}

int runSet(const Globals& globals, const SecretOptions& options)
{
    auto opened = openDesk(globals);
    if (!opened)
        return printFault(opened.error());
    auto desk = opened->desk();
    const base::OperatorId me(globals.person);
    const auto setUp = store::isSignInSetUp(*opened->open.session);
    const auto none = store::noneHere(*opened->open.session);
    if (!setUp || !none)
        return printFault(setUp ? none.error() : setUp.error());
    if (!*setUp || *none) {
        if (!options.person.empty() && options.person != globals.person)
            return printFault(base::fault(
                base::FaultKind::Refused, "sign-in is not set up yet; a coordinator sets their own secret first, without --for"));
        const auto secret = readNewSecret(globals, newSecretOf(globals));
        if (!secret)
            return printFault(secret.error());
        const auto code = desk.setUp(me, *secret);
        return code
            ? printCode(globals,
                SecretTexts::tr("Sign-in is set up. From now on everybody who records signs in; give the others their first secrets with "
                                "secret set --for ID."),
                *code)
            : printFault(code.error());
    }
    if (options.person.empty() || options.person == globals.person) {
        const auto present = readSecret(globals, SecretTexts::tr("Present secret of %1").arg(words::text(globals.person)).toStdString());
        if (!present)
            return printFault(present.error());
        const auto next = readNewSecret(globals, newSecretOf(globals));
        if (!next)
            return printFault(next.error());
        const base::Done replaced = desk.replace(me, *present, *next);
        return replaced
            ? printSaid(globals, globals.person, SecretTexts::tr("Your secret is replaced; the old one no longer lets anybody in."))
            : printFault(replaced.error());
    }
    const auto author = signedAuthor(*opened->open.session, globals, Asked::ToRecord);
    if (!author)
        return printFault(author.error());
    const auto next = readNewSecret(globals, SecretTexts::tr("First secret for %1").arg(words::text(options.person)).toStdString());
    if (!next)
        return printFault(next.error());
    const base::Done given = desk.giveOut(*author, base::OperatorId(options.person), *next);
    return given ? printSaid(globals, options.person,
               SecretTexts::tr("'%1' can sign in with it once, and then replaces it with secret set.").arg(words::text(options.person)))
                 : printFault(given.error());
}

int runCheck(const Globals& globals)
{
    auto opened = openSigned(globals);
    if (!opened)
        return printFault(opened.error());
    if (!opened->author.signedIn)
        return printFault(base::fault(base::FaultKind::Refused, "sign-in is not set up here; a coordinator does it with secret set"));
    const bool once = opened->author.signedIn->mustReplace();
    if (globals.json)
        return printText(JsonWriter()
                             .beginObject()
                             .key("format")
                             .value(1)
                             .key("operator")
                             .value(globals.person)
                             .key("role")
                             .value(word(opened->author.signedIn->role()))
                             .key("must_replace")
                             .value(once)
                             .endObject()
                             .text()
            + "\n");
    const QString said = once ? SecretTexts::tr("That is the secret of '%1', given out by somebody else: replace it now with secret set.")
                              : SecretTexts::tr("That is the secret of '%1'.");
    return printText(said.arg(words::text(globals.person)).toStdString() + "\n");
}

int runUnlock(const Globals& globals, const SecretOptions& options)
{
    auto opened = openSigned(globals);
    if (!opened)
        return printFault(opened.error());
    const base::Done unlocked = opened->desk.desk().unlock(opened->author, base::OperatorId(options.person), options.reason);
    return unlocked ? printSaid(globals, options.person, SecretTexts::tr("'%1' may try again.").arg(words::text(options.person)))
                    : printFault(unlocked.error());
}

int runRecover(const Globals& globals, const SecretOptions& options)
{
    auto opened = openDesk(globals);
    if (!opened)
        return printFault(opened.error());
    const auto code = readSecret(globals, SecretTexts::tr("Recovery code").toStdString());
    if (!code)
        return printFault(code.error());
    const auto next = readNewSecret(globals, newSecretOf(globals));
    if (!next)
        return printFault(next.error());
    const auto fresh = opened->desk().recover(base::OperatorId(globals.person), *code, *next, options.witness, options.reason);
    return fresh ? printCode(globals,
               SecretTexts::tr("'%1' has a new secret; who stood by and why is on record. The old code is spent.")
                   .arg(words::text(globals.person)),
               *fresh)
                 : printFault(fresh.error());
}

std::string standingsTable(const std::vector<store::SignInStanding>& standings, base::Moment now, const registry::Zone& zone)
{
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column : { SecretTexts::tr("operator"), SecretTexts::tr("name"), SecretTexts::tr("role"), SecretTexts::tr("secret"),
             SecretTexts::tr("failed in a row"), SecretTexts::tr("locked until") })
        table.front().push_back(column.toStdString());
    for (const auto& each : standings) {
        const QString role = words::role(each.role);
        const QString secret = !each.hasSecret ? SecretTexts::tr("none")
            : each.mustReplace                 ? SecretTexts::tr("to be replaced")
                                               : SecretTexts::tr("own");
        table.push_back({ each.person.value, each.name, (each.closed ? SecretTexts::tr("%1, closed").arg(role) : role).toStdString(),
            secret.toStdString(), std::to_string(each.lockOut.failures),
            each.lockOut.locked(now) ? words::full(*each.lockOut.until, zone).toStdString() : "" });
    }
    return alignedTable(table);
}

int runList(const Globals& globals)
{
    auto opened = openSigned(globals);
    if (!opened)
        return printFault(opened.error());
    if (opened->author.signedIn && opened->author.signedIn->role() != registry::Role::Coordinator)
        return printFault(
            base::fault(FaultKind::Denied, "the list of failed tries is a coordinator's; secret check tells you of your own"));
    auto reader = store::Reader::open(*opened->desk.open.session);
    if (!reader)
        return printFault(reader.error());
    const auto now = reader->zone().at(store::machineClock());
    const auto standings = store::signInStandings(*reader, now);
    const auto unknown = store::unknownTriesOfLastDay(*reader, now);
    if (!standings || !unknown)
        return printFault(standings ? unknown.error() : standings.error());
    if (globals.json) {
        JsonWriter json;
        json.beginObject().key("format").value(1).key("operators").beginArray();
        for (const auto& each : *standings) {
            json.beginObject()
                .key("operator")
                .value(each.person.value)
                .key("name")
                .value(each.name)
                .key("role")
                .value(word(each.role))
                .key("closed")
                .value(each.closed);
            json.key("has_secret")
                .value(each.hasSecret)
                .key("must_replace")
                .value(each.mustReplace)
                .key("failed_in_a_row")
                .value(each.lockOut.failures);
            json.key("locked_until")
                .value(each.lockOut.locked(now) ? std::optional(base::toText(*each.lockOut.until)) : std::nullopt)
                .endObject();
        }
        return printText(json.endArray().key("unknown_ids_last_day").value(*unknown).endObject().text() + "\n");
    }
    return printText(standingsTable(*standings, now, reader->zone())
        + SecretTexts::tr("Tries with ids that nobody has, in the last day: %1.").arg(*unknown).toStdString() + "\n");
}

} // namespace

void addSecretCommand(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto options = std::make_shared<SecretOptions>();
    auto* secret = app.add_subcommand("secret", "Passwords and PINs: set, check, list, unlock, recover")->fallthrough();
    secret->require_subcommand(1);

    auto* set = secret
                    ->add_subcommand(
                        "set", "Sets your secret; the first one, a coordinator's, sets sign-in up and prints the recovery code")
                    ->fallthrough();
    set->add_option("--for", options->person,
        "A coordinator gives somebody their first secret, or a new one where it was forgotten; it is replaced at first use");
    set->footer("A PIN has 6 digits or more, a password 8 characters; a coordinator has a password of 10.\n"
                "Secrets are typed at the terminal, or come with --secret-file, --new-secret-file, --secret-stdin; never as arguments.\n"
                "Example: meterkeep-cli --registry ward5.mkr --operator rook secret set --for n-arlen");
    whenChosen(*set, chosen, [&globals, options] { return runSet(globals, *options); });

    auto* check = secret->add_subcommand("check", "Is that your secret, and did others try your id?")->fallthrough();
    addExample(*check, "--registry ward5.mkr --operator n-arlen secret check");
    whenChosen(*check, chosen, [&globals] { return runCheck(globals); });

    auto* list = secret->add_subcommand("list", "For coordinators: who can sign in, failed tries, locked ids")->fallthrough();
    addExample(*list, "--registry ward5.mkr --operator rook secret list");
    whenChosen(*list, chosen, [&globals] { return runList(globals); });

    auto* unlock = secret->add_subcommand("unlock", "A coordinator lets a locked id try again at once")->fallthrough();
    unlock->add_option("--for", options->person, "Whose id")->required();
    unlock->add_option("--reason", options->reason, "Why; stands on record")->required();
    addExample(*unlock, "--registry ward5.mkr --operator rook secret unlock --for n-arlen --reason \"new keyboard, stood beside\"");
    whenChosen(*unlock, chosen, [&globals, options] { return runUnlock(globals, *options); });

    auto* recover = secret->add_subcommand("recover", "A coordinator who forgot their secret comes back in with the code from its envelope")
                        ->fallthrough();
    recover->add_option("--witness", options->witness, "The name of somebody else who stands by; stands on record")->required();
    recover->add_option("--reason", options->reason, "Why; stands on record")->required();
    recover->footer(
        "The code takes the place of the present secret: typed first, or with --secret-file. A new code is printed; the old one is spent.\n"
        "Example: meterkeep-cli --registry ward5.mkr --operator rook secret recover --witness \"M. Hale\" --reason \"forgotten over leave\"");
    whenChosen(*recover, chosen, [&globals, options] { return runRecover(globals, *options); });
}

} // namespace mk::cli
