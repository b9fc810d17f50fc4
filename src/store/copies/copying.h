// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/journal/journal.h"
#include "store/registrar/registrar.h"

#include <functional>
#include <optional>
#include <string>

/// A registry entry by entry into another place: the journal is carried over, the index is made anew.
namespace mk::store {

using TakeEntry = std::function<base::Done(const Entry&)>;

/// Where entries come from, first to last; none is kept.
struct EntrySource {
    base::Arg name;                                   ///< in words
    bool lines = false;                               ///< an entry is a line of a file
    std::function<base::Done(const TakeEntry&)> each; ///< ends with the first fault
    Session* session = nullptr;                       ///< where they come from a registry

    /// Where that entry stands, as what begins a fault's sentence.
    base::Fault placeOf(std::int64_t number) const
    {
        return lines ? base::badInput("%1, line %2", name, number) : base::badInput("%1, entry %2", name, number);
    }
};

/// The entries of a registry. While they are read, no other statement of its session runs; the caller holds one view (begin or beginRead).
EntrySource entriesOf(Session& session);
/// The lines of an export (journal.ndjson, or the folder it lies in).
/// errors  BadInput where there is no such file
base::Result<EntrySource> linesOf(const std::string& path);

struct Copied {
    Head head;                    ///< of what was carried over
    std::int64_t secretsLeft = 0; ///< people who had a password that could not be taken along
};

/// What the registry itself adds behind the last entry that was carried over, in the same transaction.
struct LastWord {
    std::function<registry::Act(const Head&)> act;
    Author author;
    Clock clock;
};

/// Fills an empty registry in one transaction: every link proven, every row of the index made from its entry. Passwords go along from file
/// to file. errors  Damaged naming the entry or the line; Conflict where the target is not empty; what the engines say
base::Result<Copied> copyInto(Session& target, const EntrySource& source, const std::optional<LastWord>& last = std::nullopt);

/// Appends an entry of the program's own in the transaction that is open.
base::Result<Head> appendHere(Session& session, const registry::Act& act, const Author& author, std::int64_t nowMs);

/// Does a registry hold, chain and index, and has it that entry? errors  Damaged saying in words what does not hold
base::Done proveWhole(Session& session, const std::string& digest);

/// A new registry at a place, or the empty one that a copying left there that was ended.
/// errors  as Session::create
base::Result<std::unique_ptr<Session>> emptyPlace(const std::string& place, const PasswordSource& password);

} // namespace mk::store
