// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <string>

namespace mk::exchange {

/// The most that is read of a registry's CSV file, and of a policy's.
inline constexpr std::size_t kMostTableBytes = 512U << 20U, kMostPolicyBytes = 256U << 10U;

/// A file's bytes. Nothing else is waited for: a folder, a FIFO and a socket are refused, and a device ends at `most`.
/// errors  BadInput naming the path: not there, no file, not readable, larger than `most`
base::Result<std::string> readWholeFile(const std::string& path, std::size_t most);

} // namespace mk::exchange
