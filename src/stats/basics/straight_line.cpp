// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/straight_line.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

double LineUncertainty::slopeError() const
{
    return std::sqrt(slopeVariance);
}

double LineUncertainty::errorAt(double x) const
{
    const double distance = x - centre;
    return std::sqrt(std::max(0.0, valueVariance + distance * (2 * covariance + distance * slopeVariance)));
}

} // namespace mk::stats
