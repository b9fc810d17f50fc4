// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/read/reader.h"

#include <functional>
#include <map>

namespace mk::store {

/// A registry on its way out.
struct ExportedRegistry {
    std::string registry; ///< its id
    std::string zone;
    std::int64_t entries = 0;
    std::string head; ///< digest of the last entry
    std::vector<std::pair<std::string, std::string>> foundingPolicy;
    std::vector<registry::Act> acts;                ///< that CSV files carry, in the order of the journal
    std::map<std::string, std::int64_t> notInFiles; ///< entries of people that no CSV file carries, by kind
};

/// Reads the journal up to the reader's position once.
/// line  called with each entry as one line of JSON, all columns, canonical but for prev and digest, which stand with the others
base::Result<ExportedRegistry> exportRegistry(Reader& reader, const std::function<base::Done(const std::string& line)>& line);

} // namespace mk::store
