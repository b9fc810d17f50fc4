// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

/// Average run lengths of drift charts: how many results on average up to and including the first that signals, when results are
/// normal and independent with SD 1 and mean `shift`, the error being there from the first result on (zero state). The integral
/// equation of the run length is solved at Gauss-Legendre nodes (Nystrom's method, as in Crowder, Technometrics 1987;29:401-407).
/// errors of all: BadInput for arguments out of bounds, or when a second set of nodes does not agree to six digits, which happens when
/// the run length is too long for doubles (beyond some 1e9)
namespace mk::stats {

enum class CusumSides {
    One, ///< the upper CUSUM alone
    Two  ///< upper and lower, of equal k and h: about half the run length of one when nothing is wrong
};

/// S = max(0, S + z - k), signals above h; the lower one likewise.
/// k   slack, 0 to 5; h   decision limit, above 0, at most 30; shift   within 10 either way: all in SD
/// two sides: 1 / ARL = 1 / ARL of the upper + 1 / ARL of the lower (Lucas & Crosier, Technometrics 1982;24:199-205)
base::Result<double> cusumRunLength(double k, double h, double shift, CusumSides sides);

/// E = lambda z + (1 - lambda) E from 0 on, signals when E lies beyond width * sqrt(lambda / (2 - lambda)): steady limits.
/// lambda   0.001 to 1; width   above 0, at most 10, in SD of the average; shift   within 10 either way
base::Result<double> ewmaRunLength(double lambda, double width, double shift);

} // namespace mk::stats
