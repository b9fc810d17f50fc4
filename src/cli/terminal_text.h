// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace mk::cli {

/// The text with what would steer a terminal written out as JSON would: an escape sequence as \u001b[2J, a mark that turns the direction of
/// writing, a byte that is no UTF-8. Line feeds and tabs stay.
std::string visible(std::string_view text);

/// The same for the cell of a table, where a line feed and a tab are written out, too.
std::string visibleCell(std::string_view text);

} // namespace mk::cli
