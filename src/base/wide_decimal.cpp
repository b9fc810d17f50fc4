// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/wide_decimal.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

namespace mk::base {

namespace {

constexpr double kLargestDecimalOf = 1e6;

std::string wideDigits(WideInt magnitude)
{
    std::string digits;
    do {
        digits += static_cast<char>('0' + static_cast<int>(magnitude % 10));
        magnitude /= 10;
    } while (magnitude > 0);
    std::ranges::reverse(digits);
    return digits;
}

} // namespace

std::int64_t powerOfTen(int exponent) noexcept
{
    static constexpr auto kPowers = [] {
        std::array<std::int64_t, 19> powers {};
        std::int64_t power = 1;
        for (std::size_t i = 0; i < powers.size(); ++i) {
            powers[i] = power;
            power = i + 1 < powers.size() ? power * 10 : power;
        }
        return powers;
    }();
    assert(exponent >= 0 && exponent < static_cast<int>(kPowers.size()));
    return kPowers[static_cast<std::size_t>(exponent)];
}

WideInt mantissaWith(WideDecimal number, int decimals) noexcept
{
    return number.mantissa * powerOfTen(decimals - number.decimals);
}

WideDecimal roundedQuotient(WideInt numerator, WideInt denominator, int decimals) noexcept
{
    const bool negative = numerator < 0;
    const WideInt scaled = (negative ? -numerator : numerator) * powerOfTen(decimals);
    const WideInt rounded = (2 * scaled + denominator) / (2 * denominator);
    return { negative ? -rounded : rounded, decimals };
}

std::string toFixedText(WideDecimal number)
{
    const auto decimals = static_cast<std::size_t>(number.decimals);
    std::string digits = wideDigits(number.mantissa < 0 ? -number.mantissa : number.mantissa);
    if (digits.size() <= decimals)
        digits.insert(0, decimals + 1 - digits.size(), '0');
    if (decimals > 0)
        digits.insert(digits.size() - decimals, 1, '.');
    return (number.mantissa < 0 ? "-" : "") + digits;
}

std::string toText(WideDecimal number)
{
    while (number.decimals > 0 && number.mantissa % 10 == 0) {
        number.mantissa /= 10;
        --number.decimals;
    }
    return toFixedText(number);
}

std::optional<WideDecimal> decimalOf(double value) noexcept
{
    if (!(std::abs(value) <= kLargestDecimalOf))
        return std::nullopt;
    WideDecimal decimal;
    for (int decimals = 0; decimals <= Decimal::kMostDecimals; ++decimals) {
        // Mantissa and power are exact in binary, so the division gives the very double that the decimal reads as.
        const auto power = static_cast<double>(powerOfTen(decimals));
        const double mantissa = std::nearbyint(value * power);
        decimal = { static_cast<WideInt>(mantissa), decimals };
        if (mantissa / power == value)
            break;
    }
    return decimal;
}

} // namespace mk::base
