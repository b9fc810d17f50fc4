// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// Chances of a standard normal deviate, accurate far out in both tails, where 1 - Phi would have no digits left.
namespace mk::stats {

/// The chance to lie above x. x: any number, infinities too
double normalAbove(double x);
/// The chance to lie between two bounds. lower <= upper, infinities allowed
double normalBetween(double lower, double upper);
/// The density at x.
double normalDensity(double x);

} // namespace mk::stats
