// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/sql.h"

#include <functional>
#include <span>

namespace mk::store {

/// Brings one entry into the index tables. Copies what the act says; never judges.
/// seq       the entry
/// recorded  its time in the journal, UTC milliseconds
/// imported  marked as taken over: a stop or a movement then holds from the act's own time
/// mending   the correction or annulment that an earlier entry carries, asked for where its confirmation is applied
using MendingOf = std::function<base::Result<registry::Act>(base::Seq)>;
base::Done applyToIndex(
    Session& session, base::Seq seq, std::int64_t recordedMs, bool imported, const registry::Act& act, const MendingOf& mending);
/// The same, with the journal of the session itself at hand.
base::Done applyToIndex(Session& session, base::Seq seq, std::int64_t recordedMs, bool imported, const registry::Act& act);

/// The tables that `verify` rebuilds and compares, each with the order of its rows.
struct IndexTable {
    const char* name;
    const Sql* selectAll;
};
std::span<const IndexTable> indexTables();

} // namespace mk::store
