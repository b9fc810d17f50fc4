// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/signed_author.h"

#include "cli/secret_source.h"
#include "words/numbers.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

#include <cstdio>

namespace mk::cli {

using base::Done;
using base::Result;

namespace {

struct AuthorTexts {
    Q_DECLARE_TR_FUNCTIONS(Secrets)
};

/// What somebody who came in should know of their id.
void tellOfFailures(const store::Admitted& admitted, store::Session& session)
{
    const auto reader = admitted.failedBefore > 0 ? store::Reader::open(session) : base::Result<store::Reader>(base::badInput(""));
    if (!reader)
        return;
    const QString last = words::full(*admitted.lastFailure, reader->zone());
    const QString said = admitted.failedBefore == 1
        ? AuthorTexts::tr("One try with your id failed since you last signed in, the last on %1. If it was not you, tell the coordinator.")
              .arg(last)
        : AuthorTexts::tr("%1 tries with your id failed since you last signed in, the last on %2. If it was not you, tell the coordinator.")
              .arg(QString::number(admitted.failedBefore), last);
    std::fprintf(stderr, "%s\n", said.toStdString().c_str());
}

} // namespace

Result<store::Author> signedAuthor(store::Session& session, const Globals& globals, Asked asked)
{
    store::Author author { base::OperatorId(globals.person), stationName(), {} };
    const auto setUp = store::isSignInSetUp(session);
    if (!setUp)
        return setUp.error();
    if (!*setUp)
        return author;
    if (globals.person.empty())
        return base::fault(
            base::FaultKind::Denied, "nobody is named; say who you are with --operator ID, and give the secret when it is asked for");
    const auto secret = readSecret(globals, AuthorTexts::tr("Secret of %1").arg(words::text(globals.person)).toStdString());
    if (!secret)
        return secret.error();
    auto registrar = store::Registrar::open(session, store::machineClock);
    if (!registrar)
        return registrar.error();
    store::SignInDesk desk(session, **registrar, store::machineClock, author.station);
    auto admitted = asked == Asked::ToSign ? desk.signInToSign(author.person, *secret) : desk.signIn(author.person, *secret);
    if (!admitted)
        return admitted.error();
    tellOfFailures(*admitted, session);
    author.signedIn = admitted->signedIn;
    return author;
}

Result<bool> isInspector(store::Reader& reader, const Globals& globals)
{
    const auto person = reader.person(base::OperatorId(globals.person));
    if (!person)
        return person.error();
    return *person != nullptr && (*person)->act.role == registry::Role::Inspector;
}

Done noteInspector(store::Session& session, const Globals& globals)
{
    const auto author = signedAuthor(session, globals, Asked::ToRecord);
    if (!author)
        return author.error();
    if (author->signedIn && author->signedIn->mustReplace())
        return base::fault(
            base::FaultKind::Denied, "the secret of '%1' was given out by somebody else; replace it first (secret set)", globals.person);
    auto registrar = store::Registrar::open(session, store::machineClock);
    if (!registrar)
        return registrar.error();
    return store::noteShown(**registrar, *author, globals.shown);
}

void addSecretOptions(CLI::App& app, Globals& globals)
{
    app.add_option("--secret-file", globals.secretFile,
        "Signing in: a file that only you can read, with the secret on its first line (default: the terminal asks)");
    app.add_option("--new-secret-file", globals.newSecretFile, "The same for a new secret");
    app.add_flag(
        "--secret-stdin", globals.secretStdin, "Signing in: secrets come on standard input, a line each, a new one after the present one");
}

std::string commandInWords(const CLI::App& app)
{
    std::string text;
    const CLI::App* at = &app;
    while (!at->get_subcommands().empty()) {
        at = at->get_subcommands().front();
        text += (text.empty() ? "" : " ") + at->get_name();
        for (const auto* option : at->get_options()) {
            if (option->count() == 0)
                continue;
            if (!option->get_positional())
                text += " " + option->get_name();
            for (const auto& result : option->results())
                text += " " + result;
        }
    }
    return text;
}

} // namespace mk::cli
