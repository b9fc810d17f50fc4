// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/copies/copying.h"

#include <functional>
#include <optional>
#include <string>

/// A copy comes back: proven first, then put in place at one stroke. What it replaces is kept.
namespace mk::store {

/// How far a restore has come; a test ends it there.
enum class RestoreStep { Staged, Proven, Held, Noted, Kept, Replaced };

struct RestoreRequest {
    std::string copy;     ///< a copy, or an export of the journal
    std::string place;    ///< where it shall be: a path, or the address of an empty database
    bool replace = false; ///< also where a registry is
    Author author;
    Clock clock = machineClock;
    PasswordSource password = {};
    std::function<void(RestoreStep)> reached = {};
};

/// What lies at the place, held against the copy.
struct Standing {
    std::optional<Head> head; ///< none: it cannot be read
    std::string notReadableBecause;
    bool otherRegistry = false;
    std::int64_t common = 0; ///< up to this entry both are the same
    std::int64_t lost = 0;   ///< entries that are there and not in the copy
    bool older = false;      ///< it is a beginning of the copy: nothing is lost
    base::Fault told;        ///< the same, for people
};

struct Restored {
    bool done = false;
    std::optional<base::Fault> refused; ///< what would be lost, and how to go on
    Head copy;                          ///< newest entry of the copy
    Head head;                          ///< of the registry now: the entry that says it was restored
    std::optional<Standing> replaced;
    std::string keptAs; ///< where what was replaced lies now
    std::int64_t secretsLeft = 0;
};

/// errors  Damaged: the copy does not hold (naming the entry or line); NewerFormat; Conflict, Busy: the place cannot be taken now; Full,
/// Io.
///         Whatever goes wrong, what lay at the place lies there as it was.
base::Result<Restored> restore(const RestoreRequest& request);

} // namespace mk::store
