// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace mk::stats {

/// y = intercept + slope x.
struct StraightLine {
    double slope = 0;
    double intercept = 0;

    double at(double x) const { return intercept + slope * x; }
};

/// How uncertain a fitted line is: variances of its slope and of its value at centre, and their covariance.
/// df   degrees of freedom for t
struct LineUncertainty {
    double centre = 0;
    double slopeVariance = 0;
    double valueVariance = 0;
    double covariance = 0;
    double df = 0;

    double slopeError() const;
    /// The standard error of the line's value at x; at 0 that of the intercept.
    double errorAt(double x) const;
};

} // namespace mk::stats
