// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

namespace mk::base {

/// A decimal number exactly as it was typed, compared without binary rounding.
/// range   at most 15 significant digits before leading zeros are dropped, at most 9 after the point
/// equality is numeric: 6.20 equals 6.2, though each keeps its own text
class Decimal {
public:
    static constexpr int kMostDigits = 15;
    static constexpr int kMostDecimals = 9;

    /// input   an optional minus, digits, and at most one point with digits on both sides: 5, 5.6, -0.3
    /// errors  BadInput for anything else: plus signs, exponents, commas, spaces, too many digits
    static Result<Decimal> parse(std::string_view typed);

    const std::string& typed() const noexcept { return m_typed; }
    double toDouble() const noexcept;
    int decimals() const noexcept { return m_decimals; }

    /// The value is mantissa() / 10^decimals(), exactly.
    std::int64_t mantissa() const noexcept { return m_mantissa; }

    friend std::strong_ordering operator<=>(const Decimal& a, const Decimal& b) noexcept;
    friend bool operator==(const Decimal& a, const Decimal& b) noexcept { return (a <=> b) == std::strong_ordering::equal; }

private:
    std::string m_typed = "0";
    std::int64_t m_mantissa = 0;
    int m_decimals = 0;
};

} // namespace mk::base
