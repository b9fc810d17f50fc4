// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/text_form.h"
#include "registry/terms/zone.h"
#include "store/read/reader.h"
#include "store/registrar/registrar.h"
#include "store/db/session.h"

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

namespace mk::cli {

/// The options that every registry command knows.
struct Globals {
    std::string registry;
    std::string person; ///< empty: not given
    std::optional<std::string> at;
    std::optional<std::int64_t> asOf;
    bool json = false;
    std::string secretFile, newSecretFile; ///< where secrets stand; empty: the terminal is asked
    bool secretStdin = false;
    std::string shown; ///< the command in words, for what an inspector was shown
};

/// A registry opened for reading, at the position that --as-of names.
struct OpenRegistry {
    std::unique_ptr<store::Session> session;
    std::optional<store::Reader> reader;
    base::Moment at;         ///< what --at says, or now
    store::Author author {}; ///< opened for writing: who records, signed in where sign-in is set up
};

std::string defaultRegistryPath();
std::string stationName();

/// An inspector signs in, and what is shown goes on record.
/// errors  as Session::open; BadInput for --at or --as-of; Denied
base::Result<OpenRegistry> openForReading(const Globals& globals);
/// Opened for writing; --as-of has no meaning there and is refused.
base::Result<OpenRegistry> openForWriting(const Globals& globals);

/// The same for a signature: the secret is asked for at its moment.
base::Result<OpenRegistry> openForSigning(const Globals& globals);
/// For the commands about secrets: nobody is asked yet.
base::Result<OpenRegistry> openUnsigned(const Globals& globals);
/// Signs an inspector in and says on record what is about to be shown; for others nothing.
base::Done noteReading(const Globals& globals);

/// The moment of --at in the registry's zone, else now.
base::Result<base::Moment> momentOf(const Globals& globals, const registry::Zone& zone);

} // namespace mk::cli
