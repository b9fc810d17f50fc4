// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

/// Numbers as text for people, the same in every locale: printf would write a decimal comma where the system's language has one.
namespace mk::base {

/// With up to so many significant digits and no zeros behind them: 0.15, 1234.57, 1e-09, and 0 for minus zero.
/// digits   1 to 17
std::string significantText(double number, int digits);
/// With exactly so many decimals: 2.50. decimals: 0 to 9
std::string fixedText(double number, int decimals);

} // namespace mk::base
