// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/board.h"
#include "store/read/ward_duties.h"

namespace mk::cli {

/// The members of a board row, inside an object that is open already.
void writeRow(JsonWriter& json, const store::BoardRow& row, const registry::Zone& zone);
void writeReasons(JsonWriter& json, const registry::Fitness& fitness);
void writeNext(JsonWriter& json, const registry::Fitness& fitness, const registry::Zone& zone);
void writeMoment(JsonWriter& json, base::Moment moment, const registry::Zone& zone);
/// One set of a meter with its runs, as an object.
/// sets  among which the one is looked for at which a drift began
void writeSet(JsonWriter& json, const registry::SetRecord& set, const registry::Zone& zone, std::span<const registry::SetRecord> sets = {});

/// The board for a terminal: one line a meter, worst first.
std::string boardTable(const std::vector<store::BoardRow>& rows, base::Moment at, const registry::Zone& zone);
/// What a person reads of one meter: the answer, then every reason.
std::string rowInWords(const store::BoardRow& row, const registry::Zone& zone);

/// Vials that owe a control, months that nobody has signed: the keys "vials" and "months" of the board.
void writeDuties(JsonWriter& json, const store::WardDuties& duties);
std::string dutiesInWords(const store::WardDuties& duties);

} // namespace mk::cli
