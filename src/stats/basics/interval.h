// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace mk::stats {

/// Two bounds of a confidence interval, in the units of the data.
struct Interval {
    double lower = 0;
    double upper = 0;
};

} // namespace mk::stats
