// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/copies/copying.h"

namespace mk::store {

struct MoveRequest {
    std::string to;    ///< a path where nothing is, or the address of an empty database
    bool keep = false; ///< a trial: the registry here goes on, too
    Author author;
    Clock clock = machineClock;
    PasswordSource password = {};
};

struct Moved {
    Head head;                       ///< the newest entry that both have
    std::string place;               ///< in words
    std::optional<base::Seq> closed; ///< the last entry here
    bool wasThere = false;           ///< an earlier move had come as far as the copy
    std::int64_t secretsLeft = 0;
};

/// Copies a registry to another place, proves both, and closes the one here with `registry.moved`. Nobody records meanwhile.
/// errors  Conflict: the place is taken, Refused: it was moved already; what the engines say. Until it is closed, the registry here goes
/// on.
base::Result<Moved> moveRegistry(Session& source, const MoveRequest& request);

} // namespace mk::store
