// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/file_rows.h"

#include <string_view>

namespace mk::exchange {

/// Is it one of the files that a registry takes over?
bool isRegistryFile(std::string_view name);

/// Reads one CSV file of a registry (interface.md). Never fails as a whole: what cannot be read stands under `rejected`.
/// bytes  the file's content; zone gives times without offset their meaning
registry::FileRows readRegistryFile(std::string_view name, std::string_view bytes, const registry::Zone& zone);

} // namespace mk::exchange
