// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "cli/globals.h"
#include "store/access/secret.h"

/// Where a secret comes from: a file that only its owner can read, standard input, or the terminal without echo. Never an argument: other
/// people on the machine can read those.
namespace mk::cli {

/// prompt  what the terminal asks, such as "Secret of rook"
base::Result<store::Secret> readSecret(const Globals& globals, const std::string& prompt);
/// A new one; the terminal asks for it twice. On standard input it is the next line.
base::Result<store::Secret> readNewSecret(const Globals& globals, const std::string& prompt);

} // namespace mk::cli
