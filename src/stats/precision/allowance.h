// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <optional>

namespace mk::stats {

/// How far a result may lie from what it is held against; the larger of the two counts, as accuracy limits are written that
/// are absolute at low values and a percentage above (handbook 5.4). Neither: nothing is judged.
/// percent    of the value it is held against; absolute in the units of the data; both finite and >= 0
struct Allowance {
    std::optional<double> percent;
    std::optional<double> absolute;

    bool given() const noexcept { return percent || absolute; }
};

/// errors  BadInput: a negative number or one that is not finite
base::Done checkAllowance(const Allowance& allowance);

/// The distance allowed at a value, in the units of the data; nothing when the allowance says nothing there: none was given, or only a
/// percentage and the value is 0.
std::optional<double> allowedAt(const Allowance& allowance, double value);

/// Whether a distance lies within what is allowed; on the limit is within, and so is what lies beyond it by binary rounding only.
bool withinAllowed(double distance, double allowed) noexcept;

} // namespace mk::stats
