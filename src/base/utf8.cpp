// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/utf8.h"

namespace mk::base {

std::optional<char32_t> nextCharacter(std::string_view text, std::size_t& at)
{
    const auto first = static_cast<unsigned char>(text[at]);
    if (first < 0x80) {
        ++at;
        return first;
    }
    const std::size_t trailing = first >= 0xf0 ? 3 : first >= 0xe0 ? 2 : 1;
    if (first < 0xc2 || first > 0xf4 || at + trailing >= text.size())
        return std::nullopt;
    char32_t c = first & (0x3fU >> trailing);
    for (std::size_t i = 1; i <= trailing; ++i) {
        const auto byte = static_cast<unsigned char>(text[at + i]);
        if ((byte & 0xc0U) != 0x80U)
            return std::nullopt;
        c = (c << 6U) | (byte & 0x3fU);
    }
    const bool overlong = (trailing == 2 && c < 0x800) || (trailing == 3 && c < 0x10000);
    if (overlong || c > 0x10ffff || (c >= 0xd800 && c <= 0xdfff))
        return std::nullopt;
    at += trailing + 1;
    return c;
}

bool isControl(char32_t c)
{
    return c < 0x20 || (c >= 0x7f && c <= 0x9f);
}

bool turnsDirection(char32_t c)
{
    return (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069);
}

} // namespace mk::base
