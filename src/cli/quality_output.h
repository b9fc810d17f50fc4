// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/board.h"

namespace mk::cli {

/// The keys `comparison_rounds`, `calibrations`, `eqa` and `meter_or_lot` of a meter's file.
void writeQuality(
    JsonWriter& json, store::Reader& reader, const store::BoardRow& row, const std::vector<registry::PairRecord>& pairs, base::Moment at);

} // namespace mk::cli
