// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/reader.h"

#include <string>

namespace mk::cli {

/// Prints every version of a set or an entry. returns  the exit status
int runHistory(store::Reader& reader, const std::string& key, bool json);

} // namespace mk::cli
