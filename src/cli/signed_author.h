// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"
#include "store/sign_in/sign_in.h"

namespace CLI {
class App;
}

/// Signing in at the command line: each command is a session of its own.
namespace mk::cli {

enum class Asked { ToRecord, ToSign };

/// Who records: --operator, who signs in where sign-in is set up.
/// errors  Denied; BadInput where nobody is named
base::Result<store::Author> signedAuthor(store::Session& session, const Globals& globals, Asked asked);

base::Result<bool> isInspector(store::Reader& reader, const Globals& globals);
/// Signs in where that is set up, and says on record what the inspector is about to be shown.
base::Done noteInspector(store::Session& session, const Globals& globals);

/// --secret-file, --new-secret-file, --secret-stdin
void addSecretOptions(CLI::App& app, Globals& globals);
/// "meter M-07 --from 2026-10-01": the command that was parsed, without the options that every command has.
std::string commandInWords(const CLI::App& app);

} // namespace mk::cli
