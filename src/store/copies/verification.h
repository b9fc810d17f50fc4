// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/session.h"
#include "store/journal/chain_check.h"

#include <optional>
#include <string>
#include <vector>

namespace mk::store {

/// What a check of the whole file found.
struct Verification {
    std::int64_t entries = 0;
    std::string head; ///< digest of the newest entry
    bool chainIntact = true;
    std::optional<std::int64_t> brokenAt; ///< the first entry that does not follow from the one before
    std::optional<ChainBreak> brokenHow;
    std::string brokenBecause; ///< the same in English, for logs
    bool indexMatches = true;
    std::vector<std::string> differsIn;        ///< tables, or parts of the schema
    std::vector<base::Arg> differences;        ///< the same for people
    std::vector<std::string> unverified;       ///< tables that no verdict rests on
    std::vector<std::string> passwordsMissing; ///< ids whose password stayed behind when this was copied
    std::optional<bool> headKnown;             ///< the printed digest is in the chain; nothing where none was given

    bool holds() const { return chainIntact && indexMatches && headKnown.value_or(true); }
};

/// Recomputes the chain, rebuilds the index from the journal and compares it with what is stored.
/// printedHead  a digest of an earlier report, lower-case hex; must be in the chain
/// errors       only where the file cannot be read at all
base::Result<Verification> verify(Session& session, const std::optional<std::string>& printedHead);

} // namespace mk::store
