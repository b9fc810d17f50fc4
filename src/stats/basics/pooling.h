// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/basics/summary.h"

#include <optional>

namespace mk::stats {

/// Two blocks of results as one, as if all had been taken together; in either order, and a block without results changes nothing.
/// source  T. F. Chan, G. H. Golub, R. J. LeVeque, Am. Stat. 1983;37:242: squares grow by d^2 na nb / (na + nb), d between the means
Moments merged(const Moments& a, const Moments& b);

/// SD with n - 1; nothing below two results
std::optional<double> sdOf(const Moments& block);

} // namespace mk::stats
