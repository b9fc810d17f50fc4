// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/number_text.h"

#include <array>
#include <cassert>
#include <charconv>

namespace mk::base {

namespace {

std::string numberTextIn(double number, std::chars_format format, int precision)
{
    std::array<char, 400> buffer {}; // the largest double has 309 digits before its point
    const auto written = std::to_chars(buffer.data(), buffer.data() + buffer.size(), number, format, precision);
    return { buffer.data(), written.ptr };
}

} // namespace

std::string significantText(double number, int digits)
{
    assert(digits >= 1 && digits <= 17);
    return numberTextIn(number + 0.0, std::chars_format::general, digits);
}

std::string fixedText(double number, int decimals)
{
    assert(decimals >= 0 && decimals <= 9);
    return numberTextIn(number, std::chars_format::fixed, decimals);
}

} // namespace mk::base
