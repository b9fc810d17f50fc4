// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

#include <map>

/// Which tables a month's report has: one for the lots that were used together.
namespace mk::report {

/// The results of all meters on one strip lot, with the k-th control lot of each level.
struct LotTable {
    base::StripLotId stripLot;
    std::map<registry::Level, base::ControlLotId> controlLots;
    base::Moment firstAt, lastAt;
    base::GlucoseUnit unit {};
    std::vector<registry::Level> levels;
};

bool isIn(const LotTable& table, const registry::LevelFigures& figures);
/// Null where the meter has none of that level on these lots.
const registry::LevelFigures* figuresIn(const registry::MeterMonth& meter, const LotTable& table, registry::Level level);
/// Newest use first.
std::vector<LotTable> lotTables(const registry::MonthFigures& figures);

} // namespace mk::report
