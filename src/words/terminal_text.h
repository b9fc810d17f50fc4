// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace mk::words {

/// The text with what would steer a terminal written out as JSON would: an escape sequence as \u001b[2J, a mark that turns the direction of
/// writing, a byte that is no UTF-8. Line feeds and tabs stay.
std::string visible(std::string_view text);

/// Columns of text, first row the heading, padded to line up; a line end behind each row. In a cell a line feed and a tab are written
/// out, too.
std::string alignedTable(const std::vector<std::vector<std::string>>& rows);
/// "Ignored columns: a, b." with a line end, or nothing when there are none.
std::string ignoredLine(const std::vector<std::string>& columns);
/// The texts with a separator between them.
std::string joined(const std::vector<std::string>& texts, const char* separator);

} // namespace mk::words
