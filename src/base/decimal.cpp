// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/decimal.h"

#include <algorithm>
#include <array>

namespace mk::base {

namespace {

constexpr std::array<std::int64_t, 19> kPowersOfTen = { 1, 10, 100, 1'000, 10'000, 100'000, 1'000'000, 10'000'000, 100'000'000,
    1'000'000'000, 10'000'000'000, 100'000'000'000, 1'000'000'000'000, 10'000'000'000'000, 100'000'000'000'000, 1'000'000'000'000'000,
    10'000'000'000'000'000, 100'000'000'000'000'000, 1'000'000'000'000'000'000 };

bool isDigit(char c)
{
    return c >= '0' && c <= '9';
}

__extension__ using Wide = __int128;

} // namespace

Result<Decimal> Decimal::parse(std::string_view typed)
{
    const auto notANumber = [&] {
        return badInput("'%1' is not a decimal number; write digits with at most one point, such as 5.6", typed);
    };
    std::string_view rest = typed;
    const bool negative = !rest.empty() && rest.front() == '-';
    if (negative)
        rest.remove_prefix(1);

    const auto point = rest.find('.');
    const auto whole = rest.substr(0, point);
    const auto fraction = point == std::string_view::npos ? std::string_view() : rest.substr(point + 1);
    const bool wellFormed = !whole.empty() && std::ranges::all_of(whole, isDigit) && std::ranges::all_of(fraction, isDigit)
        && (point == std::string_view::npos || !fraction.empty());
    if (!wellFormed)
        return notANumber();

    std::string digits = std::string(whole) + std::string(fraction);
    digits.erase(0, std::min(digits.find_first_not_of('0'), digits.size()));
    if (digits.size() > kMostDigits || fraction.size() > kMostDecimals)
        return badInput("'%1' has more digits than a meter or a label can show", typed);

    Decimal decimal;
    decimal.m_typed = std::string(typed);
    decimal.m_decimals = static_cast<int>(fraction.size());
    for (const char c : digits)
        decimal.m_mantissa = decimal.m_mantissa * 10 + (c - '0');
    if (negative)
        decimal.m_mantissa = -decimal.m_mantissa;
    return decimal;
}

double Decimal::toDouble() const noexcept
{
    // Both are exact in binary (15 digits, 10^9), so the one division is correctly rounded.
    return static_cast<double>(m_mantissa) / static_cast<double>(kPowersOfTen[static_cast<std::size_t>(m_decimals)]);
}

std::strong_ordering operator<=>(const Decimal& a, const Decimal& b) noexcept
{
    const auto widened = [](const Decimal& d, int decimals) {
        return static_cast<Wide>(d.m_mantissa) * kPowersOfTen[static_cast<std::size_t>(decimals - d.m_decimals)];
    };
    const int decimals = std::max(a.m_decimals, b.m_decimals);
    const Wide left = widened(a, decimals);
    const Wide right = widened(b, decimals);
    if (left == right)
        return std::strong_ordering::equal;
    return left < right ? std::strong_ordering::less : std::strong_ordering::greater;
}

} // namespace mk::base
