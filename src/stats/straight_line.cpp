// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/straight_line.h"

#include "stats/quantiles.h"

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

Interval studentInterval(double estimate, double standardError, std::size_t df, double confidence)
{
    const double half = studentFactor(confidence, static_cast<double>(df)) * standardError;
    return { estimate - half, estimate + half };
}

} // namespace mk::stats
