// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"
#include "store/read/reader.h"

#include <vector>

namespace mk::store {

/// One meter on the board: what is on record, and whether it may be used.
struct BoardRow {
    registry::MeterHistory history;
    registry::Fitness fitness;
};

/// Every meter that was enrolled by then, of one ward or of all; by meter id.
/// errors NotFound for a ward that is not on record
base::Result<std::vector<BoardRow>> board(Reader& reader, const std::optional<base::WardId>& ward, base::Moment at);

/// One meter. errors NotFound
base::Result<BoardRow> boardRow(Reader& reader, const base::MeterId& meter, base::Moment at);

/// The meter as it was known at that moment: only entries recorded by then. Nothing where none of it was on record yet.
base::Result<std::optional<registry::Fitness>> asKnownThen(Session& session, const base::MeterId& meter, base::Moment at);

/// How many sets of the meter had ended by then.
base::Result<std::size_t> countOfSets(Reader& reader, const base::MeterId& meter, base::Moment by);

} // namespace mk::store
