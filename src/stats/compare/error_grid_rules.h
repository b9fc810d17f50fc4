// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/wide_decimal.h"
#include "stats/compare/error_grid.h"

/// The rules of the error grids on exact numbers; for error_grid.cpp and its tests.
namespace mk::stats {

/// A pair in mg/dL without rounding: reference / one and test / one. All below 10^27.
struct GridPlace {
    base::WideInt reference = 0;
    base::WideInt test = 0;
    base::WideInt one = 1;
};

/// The pair as an exact place; mmol/L counts as 18.0156 mg/dL. reference, test: 0 to a million, at most nine decimals
GridPlace gridPlace(base::WideDecimal reference, base::WideDecimal test, base::GlucoseUnit unit);
/// The zone of a place. border: read for the consensus grids only
GridZone exactZone(ErrorGrid grid, GridBorder border, const GridPlace& place);

} // namespace mk::stats
