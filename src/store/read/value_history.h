// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/reader.h"

namespace mk::store {

/// One entry of the chain that made a record what it is.
struct HistoryStep {
    base::Seq seq;
    base::Moment recordedAt;
    std::string act, person;
    registry::Act said;                                                    ///< what it said; words make a line of it
    std::optional<base::Moment> keptSince;                                 ///< delivered late, kept at the workstation until then
    std::optional<std::string> column, before, after, reason, confirmedBy; ///< of a correction or an annulment
};

/// Every version of a record: the original, corrections with their confirmations, verdicts, the annulment.
/// key  a set's id, or the number of an entry
/// errors  NotFound
base::Result<std::vector<HistoryStep>> valueHistory(Reader& reader, const std::string& key);

} // namespace mk::store
