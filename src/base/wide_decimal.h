// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"

#include <cstdint>
#include <optional>
#include <string>

namespace mk::base {

/// Room for products of decimals: 38 digits.
__extension__ using WideInt = __int128;

/// exponent  0 to 18
std::int64_t powerOfTen(int exponent) noexcept;

/// The number mantissa / 10^decimals, exactly: what a product or a difference of decimals is. decimals: 0 to 18
struct WideDecimal {
    WideInt mantissa = 0;
    int decimals = 0;
};

inline WideDecimal widened(const Decimal& decimal) noexcept
{
    return { decimal.mantissa(), decimal.decimals() };
}

/// The mantissa that the number has with that many decimals, not fewer than it has now. The product must fit into 38 digits.
WideInt mantissaWith(WideDecimal number, int decimals) noexcept;
/// Digits with at most one point, no zeros at the end: -15.1, 0.8325, 30
std::string toText(WideDecimal number);
/// numerator / denominator with that many decimals, halves away from zero. denominator > 0; twice the numerator times 10^decimals must fit
/// into 38 digits
WideDecimal roundedQuotient(WideInt numerator, WideInt denominator, int decimals) noexcept;
/// Digits with exactly the decimals that the number has: 5.0
std::string toFixedText(WideDecimal number);

/// The shortest decimal that reads back as this double, so that 5.6 is 5.6 and not 5.5999999999999996; rounded to nine decimals where
/// the shortest has more. returns nothing for NaN and for numbers beyond a million either way
std::optional<WideDecimal> decimalOf(double value) noexcept;

} // namespace mk::base
