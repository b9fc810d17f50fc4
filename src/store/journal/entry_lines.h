// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/journal/journal.h"

#include <string>
#include <string_view>

/// An entry of the journal as a line of an export (journal.ndjson), and back.
namespace mk::store {

/// All columns, and the line's end; without prev and digest it is the text that the digest was made of.
std::string lineOf(const Entry& entry);

/// Which text is wrong the digest tells; here only its form is asked.
/// line    without its end
/// errors  BadInput
base::Result<Entry> entryOfLine(std::string_view line);

} // namespace mk::store
