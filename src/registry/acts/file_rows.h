// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

#include <string>
#include <vector>

namespace mk::registry {

/// A record from a file: the act, where it stood, and what somebody should look at.
struct FileRow {
    std::size_t line = 0;
    Act act;
    std::vector<std::string> questions;
};

struct RejectedRow {
    std::size_t line = 0;
    base::Fault fault;      ///< why
    bool namesFile = false; ///< the fault says itself in which file and line
};

/// One file as it was read: rows in its order, and those that could not be read.
struct FileRows {
    std::string file; ///< "meters.csv"
    std::vector<FileRow> rows;
    std::vector<RejectedRow> rejected;
    std::vector<std::string> ignoredColumns;
};

} // namespace mk::registry
