// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

#include <span>
#include <string>
#include <vector>

namespace mk::exchange {

struct WrittenFile {
    std::string name;
    std::string bytes;
    std::size_t rows = 0;
};

/// Every CSV file of a registry (interface.md), in the order of its table; a file without acts has its header alone.
/// acts  in the order of the journal; those that no file carries are left out
/// Cells are exact, for import: nothing in them is made harmless for a spreadsheet.
std::vector<WrittenFile> registryFiles(std::span<const registry::Act> acts);

} // namespace mk::exchange
