// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace mk::base {

/// The well-formed UTF-8 character at `at`, and moves `at` behind it; nothing, and `at` stays, where there is none: overlong, a surrogate,
/// beyond U+10FFFF, cut off. at: less than the text's size
std::optional<char32_t> nextCharacter(std::string_view text, std::size_t& at);

/// Is it a control character, or one that turns the direction in which what follows is shown (Trojan source)? Line feed and tab are too.
bool isControl(char32_t c);
bool turnsDirection(char32_t c);

} // namespace mk::base
