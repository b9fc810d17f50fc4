// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <string>

namespace mk::store {

/// Is the log beside a registry whole as far as it was committed? SQLite goes on without a word from the last frame before a damaged one,
/// and with it all that was acknowledged later. A log that a power cut tore in the middle of its last transaction is whole: nobody had an
/// answer. path  the registry's file; a file without a log is whole errors Damaged, Io
base::Done checkLog(const std::string& path);

} // namespace mk::store
