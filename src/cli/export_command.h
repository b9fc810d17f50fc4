// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/read/reader.h"

#include <string>

namespace mk::cli {

struct ExportOptions {
    std::string format; ///< ndjson, csv or all
    std::string out;    ///< a folder that is empty, or not there yet
    bool json = false;
};

/// Writes the registry's contents with a manifest, and prints what was written.
/// returns  the exit status
int runExport(store::Reader& reader, base::Moment now, const ExportOptions& options);

} // namespace mk::cli
