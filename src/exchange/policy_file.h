// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace mk::exchange {

/// Reads a policy file: one JSON object of settings, values as text or whole numbers.
/// errors  BadInput naming the file: not JSON, not an object, a value of another kind
base::Result<std::vector<std::pair<std::string, std::string>>> readPolicyFile(std::string_view bytes, const std::string& fileName);

} // namespace mk::exchange
